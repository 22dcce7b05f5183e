import { chromium, type Browser, type Page } from '@playwright/test'
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { findChromium } from '../../electron/browser/find.ts'
import { ensureBuilt, WINDOW } from '../../electron/build.ts'
import { fillLogbook } from '../many-flights.ts'
import type { Figure } from './run.ts'
import { mainThreadDuring, watchLongTasks, type MainThread } from './support/long-tasks.ts'
import { writePair } from './support/pair-of-logs.ts'

const PROJECT = join(import.meta.dirname, '../..')
const FLIGHTS = 10_000
const LENGTH_S = 300

/**
 * How long the window's main thread is held up, in the real window in Chromium: two logs of 5 minutes at 2 kHz dropped,
 * opened, looked at and exported; a logbook of 10,000 flights scrolled, searched and grouped. Tasks are the browser's
 * own report, which begins at 50 ms: 0 stands for "none as long as that". It counts the time in which other threads had the
 * core, too; the processor time of a task, from the browser's tracing, does not.
 */
export async function bench(): Promise<Figure[]> {
  const executablePath = findChromium([chromium.executablePath()])
  if (!executablePath) {
    console.log('  (there is no Chromium here: no figures)')
    return []
  }
  await ensureBuilt([WINDOW], console.log)
  const folder = mkdtempSync(join(tmpdir(), 'twopack-window-'))
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] })
  try {
    return [...(await pairFigures(browser, folder)), ...(await listFigures(browser, folder))]
  } finally {
    await browser.close()
    rmSync(folder, { recursive: true, force: true })
  }
}

const figuresOf = (
  name: string,
  { took_ms, longest_ms, over50, processor_ms }: MainThread,
  goal?: string,
): Figure[] => [
  { name, value: took_ms, unit: 'ms', ...(goal && { goal }) },
  { name: `${name}: longest task`, value: longest_ms, unit: 'ms', goal: '<= 50 ms' },
  { name: `${name}: tasks over 50 ms`, value: over50, unit: '', goal: '0' },
  { name: `${name}: most processor time of a task`, value: processor_ms, unit: 'ms', goal: '<= 50 ms' },
]

async function pairFigures(browser: Browser, folder: string): Promise<Figure[]> {
  const logs = writePair(folder, LENGTH_S)
  return withWindow(browser, join(folder, 'pair'), async (page) => {
    const during = (work: () => Promise<void>) => mainThreadDuring(browser, page, work)
    const figures: Figure[] = []
    const added = await during(async () => {
      await page.getByLabel('Log files').setInputFiles(logs)
      const add = page.getByRole('button', { name: 'Add to logbook' })
      await add.nth(1).waitFor({ timeout: 120_000 })
      await add.first().click()
      await page.getByRole('button', { name: /^Take .* as A/ }).waitFor({ timeout: 120_000 })
      await add.first().click()
      await page
        .getByRole('button', { name: /^Take .* as A/ })
        .nth(1)
        .waitFor({ timeout: 120_000 })
    })
    figures.push(...figuresOf('two logs dropped and added', added))
    await page.getByRole('button', { name: /^Take before as A/ }).click()
    await page.getByRole('button', { name: /^Take after as B/ }).click()
    for (const round of ['opened', 'opened again']) {
      const opened = await during(async () => {
        await page.getByRole('button', { name: 'See side by side' }).click()
        // From the stored extremes; flights that are still in memory go to their panes at once.
        await page.locator('[data-drawn="true"], [data-testid="pane"]').first().waitFor({ timeout: 120_000 })
      })
      figures.push(...figuresOf(`pair ${round}, first picture`, opened, '<= 300 ms'))
      const drawn = await during(async () => {
        await page.getByTestId('pane').first().waitFor({ timeout: 120_000 })
      })
      figures.push(...figuresOf(`pair ${round}, then every sample laid over each other`, drawn))
      const settled = await during(async () => {
        await page.getByTestId('gyroRms_dps-roll-a').getByText(/\d/).waitFor({ timeout: 120_000 })
        await page.getByRole('button', { name: 'Why' }).waitFor({ timeout: 300_000 })
      })
      figures.push(...figuresOf(`pair ${round}, everything computed`, settled))
      if (round === 'opened') await page.getByRole('button', { name: 'Logbook', exact: true }).click()
    }
    const pane = (await page.getByTestId('pane').first().boundingBox())!
    const moved = await during(async () => {
      await page.mouse.move(pane.x + pane.width / 2, pane.y + 20)
      for (let notch = 0; notch < 12; notch++) await page.mouse.wheel(0, notch < 8 ? -120 : 120)
      await page.mouse.down()
      for (let step = 0; step < 40; step++)
        await page.mouse.move(pane.x + pane.width / 2 - step * 6, pane.y + 20)
      await page.mouse.up()
      await page.waitForTimeout(1500)
    })
    figures.push(...figuresOf('zoomed, panned and settled', moved))
    for (const screen of ['Verdict', 'Frequency']) {
      const shown = await during(async () => {
        await page.getByRole('navigation').getByRole('button', { name: screen }).click()
        await page.waitForTimeout(2500)
      })
      figures.push(...figuresOf(`${screen} shown`, shown))
    }
    await page.getByRole('navigation').getByRole('button', { name: 'Side by side' }).click()
    await page.waitForTimeout(1500)
    const exported = await during(async () => {
      await page.getByRole('button', { name: 'Share…' }).click()
      await page.getByRole('img', { name: 'The comparison as it will be saved' }).waitFor({ timeout: 60_000 })
      await page
        .getByRole('button', { name: 'Save PNG' })
        .and(page.locator(':enabled'))
        .waitFor({ timeout: 60_000 })
    })
    figures.push(...figuresOf('picture made', exported))
    return figures
  })
}

async function listFigures(browser: Browser, folder: string): Promise<Figure[]> {
  const home = join(folder, 'many')
  fillLogbook(home, FLIGHTS)
  return withWindow(browser, home, async (page) => {
    const figures: Figure[] = []
    const during = (work: () => Promise<void>) => mainThreadDuring(browser, page, work)
    await page
      .getByRole('button', { name: /^Take .* as A/ })
      .first()
      .waitFor({ timeout: 60_000 })
    const box = (await page.getByRole('table', { name: 'Flights' }).boundingBox())!
    const scrolled = await during(async () => {
      await page.mouse.move(box.x + 300, 400)
      for (let turn = 0; turn < 80; turn++) {
        await page.mouse.wheel(0, turn % 4 === 3 ? 4000 : 400)
        await page.waitForTimeout(16)
      }
    })
    figures.push(...figuresOf('10,000 flights scrolled', scrolled))
    const jumped = await during(async () => {
      await page.keyboard.press('End')
      await page.locator('tr:focus th strong').waitFor()
      await page.keyboard.press('Home')
      await page.locator('tr:focus th strong').waitFor()
      for (let step = 0; step < 40; step++) await page.keyboard.press('ArrowDown')
    })
    figures.push(...figuresOf('to the end, back, and 40 lines by key', jumped))
    const searched = await during(async () => {
      await page.keyboard.press('/')
      await page.keyboard.type('pack 77', { delay: 40 })
      await page.getByText(/ of 10,000 flights/).waitFor()
    })
    figures.push(...figuresOf('searched while typing', searched))
    const grouped = await during(async () => {
      await page.getByRole('searchbox').fill('')
      await page.getByText('10,000 flights', { exact: true }).waitFor()
      for (const group of ['day', 'none', 'craft-day']) {
        await page.getByLabel('Group by').selectOption(group)
        await page.waitForTimeout(300)
      }
    })
    figures.push(...figuresOf('grouped otherwise, three times', grouped))
    const found = await during(async () => {
      await page.keyboard.press('Control+k')
      await page.keyboard.type('pack 77', { delay: 40 })
      await page
        .getByRole('option', { name: /^Flight/ })
        .first()
        .waitFor()
      await page.keyboard.press('Escape')
    })
    figures.push(...figuresOf('found by the palette', found))
    return figures
  })
}

/** Starts the program with a data folder and opens its window; ends it afterwards. */
async function withWindow<T>(browser: Browser, home: string, work: (page: Page) => Promise<T>): Promise<T> {
  const program = spawn(
    process.execPath,
    [
      '--no-memory-protection-keys',
      join(PROJECT, 'test/e2e/support/serve.ts'),
      home,
      join(PROJECT, WINDOW.out),
    ],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  )
  const page = await browser.newPage({ viewport: { width: 1280, height: 720 } })
  try {
    await watchLongTasks(page)
    for await (const line of createInterface(program.stdout)) {
      if (!line.startsWith('http://')) continue
      await page.goto(line)
      break
    }
    return await work(page)
  } finally {
    await page.close()
    program.kill()
  }
}

if (import.meta.main) console.table(await bench())
