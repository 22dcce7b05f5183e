import { chromium } from '@playwright/test'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { findChromium } from '../../electron/browser/find.ts'
import { ensureBuilt, WINDOW } from '../../electron/build.ts'
import { writeLog } from './intake-log.ts'
import { startProgram } from './program.ts'
import type { Figure } from './run.ts'

const ROWS = 600_000

/**
 * A log of 127 MB dropped into the window in a real Chromium, read, and opened beside another: how long until
 * something can be seen. Opened a second time in a new window of the same program. Times are taken by the page's own
 * clock from the drop and from the press of the button; a debugger is attached, which slows transfers.
 */
export async function bench(): Promise<Figure[]> {
  const folder = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  const executablePath = findChromium([chromium.executablePath()])
  if (!executablePath) {
    console.log('  (there is no Chromium here: no figures)')
    return []
  }
  await ensureBuilt([WINDOW], console.log)
  const a = join(folder, 'before.csv')
  const b = join(folder, 'after.csv')
  await writeLog(a, ROWS)
  await writeLog(b, ROWS - 100)
  const program = await startProgram(join(folder, 'home'))
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] })
  try {
    const figures: Figure[] = []
    /** From the drop of the second log until it stands in the logbook. */
    let in_ms = 0
    for (const round of ['first', 'again'] as const) {
      const page = await browser.newPage({ viewport: { width: 1280, height: 720 } })
      await page.goto(program.url)
      if (round === 'first') {
        for (const file of [a, b]) {
          const name = basename(file, '.csv')
          await page.evaluate(watchDrop)
          await page.getByLabel('Log files').setInputFiles(file)
          const looked = await page.evaluate(clickWhenThere, 'Add to logbook')
          const taken = await page.evaluate(waitFor, `Take ${name} as A, before`)
          figures.push(
            {
              name: `${name}.csv dropped and looked at`,
              value: looked.at_ms - looked.dropped_ms,
              unit: 'ms',
            },
            { name: `${name}.csv added to the logbook`, value: taken.at_ms - looked.at_ms, unit: 'ms' },
          )
          in_ms = taken.at_ms - looked.dropped_ms
        }
      }
      // The program comes up with the pair that was open.
      if (round === 'again') await page.getByRole('button', { name: 'Logbook', exact: true }).click()
      else {
        await page.getByRole('button', { name: 'Take before as A, before' }).click()
        await page.getByRole('button', { name: 'Take after as B, after' }).click()
      }
      const times = await page.evaluate(opening)
      if (round === 'first') {
        const value = in_ms + times.first_ms
        figures.push({ name: 'from the drop to the first picture', value, unit: 'ms', goal: '<= 2500' })
      }
      figures.push(
        {
          name: `opened ${round}: first picture`,
          value: times.first_ms,
          unit: 'ms',
          ...(round === 'again' ? { goal: '<= 300' } : {}),
        },
        { name: `opened ${round}: all samples, laid over each other`, value: times.whole_ms, unit: 'ms' },
      )
      await page.close()
    }
    return figures
  } finally {
    await browser.close()
    await program.stop()
    rmSync(folder, { recursive: true })
  }
}

/** In the page: notes when a file was dropped. */
function watchDrop(): void {
  const note = (): void => void Object.assign(globalThis, { dropped_ms: performance.now() })
  document.addEventListener('change', note, { once: true, capture: true })
}

/** In the page: waits, frame by frame, for a button of this name. Waiting from outside would ask twice a second. */
async function waitFor(name: string): Promise<{ dropped_ms: number; at_ms: number }> {
  const isIt = (one: HTMLButtonElement): boolean => one.ariaLabel === name || one.textContent.trim() === name
  while (![...document.querySelectorAll('button')].some(isIt)) await new Promise(requestAnimationFrame)
  return {
    dropped_ms: (globalThis as unknown as { dropped_ms: number }).dropped_ms,
    at_ms: performance.now(),
  }
}

/** In the page: as `waitFor`, and then presses the button. */
async function clickWhenThere(name: string): Promise<{ dropped_ms: number; at_ms: number }> {
  const find = (): HTMLButtonElement | undefined =>
    [...document.querySelectorAll('button')].find((one) => one.textContent.trim() === name)
  while (!find()) await new Promise(requestAnimationFrame)
  const at_ms = performance.now()
  find()?.click()
  return { dropped_ms: (globalThis as unknown as { dropped_ms: number }).dropped_ms, at_ms }
}

/** In the page: presses the button and waits for both pictures. */
async function opening(): Promise<{ first_ms: number; whole_ms: number }> {
  const button = [...document.querySelectorAll('button')].find(
    (one) => one.textContent.includes('See side by side') || one.ariaLabel === 'See side by side',
  )
  if (!button) throw new Error('no button opens the pair')
  const painted = async (selector: string): Promise<number> => {
    while (!document.querySelector(selector)) await new Promise(requestAnimationFrame)
    // The frame after the one in which it stood there has been shown.
    await new Promise(requestAnimationFrame)
    return performance.now()
  }
  const start_ms = performance.now()
  button.click()
  const first_ms = (await painted('[data-drawn="true"], [role="toolbar"][aria-label="View"]')) - start_ms
  const whole_ms = (await painted('[role="toolbar"][aria-label="View"]')) - start_ms
  return { first_ms, whole_ms }
}
