import { chromium, type Browser, type Page } from '@playwright/test'
import { tableFromArrays, tableToIPC } from 'apache-arrow'
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { findChromium } from '../../electron/browser/find.ts'
import { ensureBuilt, WINDOW } from '../../electron/build.ts'
import { longFlight } from './frames-flight.ts'
import { floorPage } from './frames-floor.ts'
import { frameFigures, TRACE_CATEGORIES, type FrameFigures } from './frames-trace.ts'
import { uplotPage } from './frames-uplot.ts'
import type { Figure } from './run.ts'

const PROJECT = join(import.meta.dirname, '../..')
const SAMPLES = 1_200_000
const RATE_HZ = 2000
const SEEDS = [1, 2] as const
/** How long a view is moved. */
const DRIVE_MS = 3000
/** Between two inputs: faster than any screen draws, as a mouse does. */
const INPUT_MS = 8

/**
 * The real window over the loopback host, in Chromium, with two flights of nine series and 1.2 million samples each:
 * panned by dragging, zoomed by the wheel and read by the cursor, with real input; frame times from the browser's own
 * tracing. Then uPlot itself, given every sample of the same series, and a page that draws next to nothing, both driven
 * the same way in the same browser: what a library does with it, and what this machine can do at all.
 */
export async function bench(): Promise<Figure[]> {
  const executablePath = findChromium([chromium.executablePath()])
  if (!executablePath) throw new Error('There is no Chromium on this machine; "npm test" installs one.')
  await ensureBuilt([WINDOW], console.log)
  const folder = mkdtempSync(join(tmpdir(), 'twopack-frames-'))
  const browser = await chromium.launch({ executablePath })
  try {
    const ours = await programFigures(browser, folder)
    const peer = await peerFigures(browser)
    const floor = await floorFigures(browser)
    return [
      ...figuresOf('window', ours),
      ...figuresOf('raw uPlot', peer),
      ...figuresOf('a page that draws next to nothing', floor),
    ]
  } finally {
    await browser.close()
    rmSync(folder, { recursive: true, force: true })
  }
}

type Scenes = Readonly<Record<string, FrameFigures>>

function figuresOf(who: string, scenes: Scenes): Figure[] {
  return Object.entries(scenes).flatMap(([scene, found]) => {
    const figure = (name: string, value: number, unit: string, goal?: string): Figure => ({
      name: `${who}, ${scene}: ${name}`,
      value,
      unit,
      ...(goal && who === 'window' ? { goal } : {}),
    })
    return [
      figure('frame to frame, p50', found.p50_ms, 'ms'),
      figure('frame to frame, p95', found.p95_ms, 'ms', '<= 16.7 ms'),
      figure('longest frame', found.longest_ms, 'ms', '<= 50 ms'),
      figure('frames over 50 ms', found.over50, `of ${found.frames}`, '0'),
      figure('main thread per frame, p50', found.mainP50_ms, 'ms'),
      figure('main thread per frame, p95', found.mainP95_ms, 'ms'),
      figure("main thread's processor time per frame, p50", found.processorP50_ms, 'ms'),
      figure("main thread's processor time per frame, p95", found.processorP95_ms, 'ms'),
      figure('longest task', found.longestTask_ms, 'ms', '<= 50 ms'),
    ]
  })
}

async function programFigures(browser: Browser, folder: string): Promise<Scenes> {
  const files = SEEDS.map((seed) => {
    const t_s = Float64Array.from({ length: SAMPLES }, (_, n) => n / RATE_HZ)
    const table = tableFromArrays({ 'time (s)': t_s, ...longFlight(SAMPLES, RATE_HZ, seed) })
    const path = join(folder, `flight-${seed}.arrow`)
    writeFileSync(path, tableToIPC(table, 'file'))
    return path
  })
  const program = spawn(
    process.execPath,
    [
      '--no-memory-protection-keys',
      join(PROJECT, 'test/e2e/support/serve.ts'),
      join(folder, 'home'),
      join(PROJECT, WINDOW.out),
    ],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  )
  try {
    const url = await addressOf(createInterface(program.stdout))
    const page = await browser.newPage({ viewport: { width: 1280, height: 720 }, deviceScaleFactor: 1 })
    await page.goto(url)
    await page.getByLabel('Log files').setInputFiles(files)
    const add = page.getByRole('button', { name: 'Add to logbook' })
    for (let left = files.length; left > 0; left--) {
      await add.nth(left - 1).waitFor({ timeout: 120_000 })
      await add.first().click()
      await page
        .getByRole('button', { name: new RegExp(`Take flight-${3 - left} as A`) })
        .waitFor({ timeout: 120_000 })
    }
    await page.getByRole('button', { name: 'Take flight-1 as A, before' }).click()
    await page.getByRole('button', { name: 'Take flight-2 as B, after' }).click()
    await page.getByRole('button', { name: 'See side by side' }).click()
    await page.getByRole('toolbar', { name: 'View' }).waitFor({ timeout: 120_000 })
    await page.getByRole('button', { name: 'Rows', exact: true }).click()
    // Every series is drawn, whatever the two motors' columns were taken for.
    for (const box of await page
      .getByRole('group', { name: 'Rows', exact: true })
      .getByRole('checkbox')
      .all()) {
      await box.check()
    }
    await page.keyboard.press('Escape')
    // The verdict is computed by other threads of the same two cores: its time is not the frames'.
    await page.getByRole('button', { name: 'Why' }).waitFor({ timeout: 300_000 })
    await page.waitForTimeout(8000)
    return await scenes(browser, page)
  } finally {
    program.kill()
  }
}

async function addressOf(lines: AsyncIterable<string>): Promise<string> {
  for await (const line of lines) if (line.startsWith('http://')) return line
  throw new Error('the program did not start')
}

async function peerFigures(browser: Browser): Promise<Scenes> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 720 }, deviceScaleFactor: 1 })
  await page.setContent(uplotPage(SAMPLES, RATE_HZ, SEEDS))
  await page.waitForFunction(() => document.title === 'ready', null, { timeout: 120_000 })
  await page.waitForTimeout(2000)
  const { zoom, pan } = await scenes(browser, page)
  return { zoom: zoom!, pan: pan! }
}

async function floorFigures(browser: Browser): Promise<Scenes> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 720 }, deviceScaleFactor: 1 })
  await page.setContent(floorPage())
  await page.waitForTimeout(500)
  const { cursor } = await scenes(browser, page)
  return { cursor: cursor! }
}

/** Zooms about one place in and out again, pans to and fro, and runs the cursor along. */
async function scenes(browser: Browser, page: Page): Promise<Scenes> {
  const box = (await page.getByTestId('pane').first().boundingBox())!
  const [middle, y] = [box.x + box.width / 2, box.y + box.height / 2]
  await page.mouse.move(middle, y)
  const input = await page.context().newCDPSession(page)
  const mouse = (type: string, x: number, more: object = {}) =>
    input.send('Input.dispatchMouseEvent', { type, x, y, button: 'none', ...more } as never)
  // At one speed: a pointer that slows down to turn stands still for a frame, and then there is none to draw. In whole
  // pixels, as a mouse tells them.
  const across = (turns: number) => {
    const part = (turns + 0.25) % 1
    return Math.round(middle + 0.4 * box.width * (part < 0.5 ? 4 * part - 1 : 3 - 4 * part))
  }
  const wheel = (deltaY: number) => mouse('mouseWheel', middle, { deltaX: 0, deltaY })
  const zoom = await drive(browser, page, (share) => wheel(share % 0.5 < 0.25 ? -60 : 60))
  for (let notch = 0; notch < 3; notch++) await wheel(-120)
  await page.waitForTimeout(1500)
  await mouse('mousePressed', middle, { button: 'left', clickCount: 1 })
  const pan = await drive(browser, page, (share) =>
    mouse('mouseMoved', across(2 * share), {
      button: 'left',
      buttons: 1,
    }),
  )
  await mouse('mouseReleased', middle, { button: 'left', clickCount: 1 })
  await page.waitForTimeout(1500)
  const cursor = await drive(browser, page, (share) => mouse('mouseMoved', across(3 * share)))
  return { zoom, pan, cursor }
}

/** Sends inputs for a while, `share` running from 0 to 1, and reads the frames of that while from the trace. */
async function drive(
  browser: Browser,
  page: Page,
  send: (share: number) => Promise<unknown>,
): Promise<FrameFigures> {
  await browser.startTracing(page, { categories: TRACE_CATEGORIES })
  await page.evaluate(() => performance.mark('drive-begin'))
  const begin_ms = performance.now()
  const sent: Promise<unknown>[] = []
  for (let next_ms = begin_ms; next_ms < begin_ms + DRIVE_MS; next_ms += INPUT_MS) {
    await new Promise((resolve) => setTimeout(resolve, Math.max(0, next_ms - performance.now())))
    sent.push(send((next_ms - begin_ms) / DRIVE_MS))
  }
  await Promise.all(sent)
  await page.evaluate(() => performance.mark('drive-end'))
  return frameFigures(await browser.stopTracing())
}

if (import.meta.main) console.table(await bench())
