import { chromium } from '@playwright/test'
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { findChromium } from '../../electron/browser/find.ts'
import { ensureBuilt, WINDOW } from '../../electron/build.ts'
import { writeLog } from './intake-log.ts'
import { startProgram } from './program.ts'
import type { Figure } from './run.ts'

const ROWS = 4_700_000

/**
 * A log of 1 GB opened by its path and added to the logbook in a real Chromium: how long, how well the desk answers
 * small calls and the window draws meanwhile, and the program's memory (Linux). Only run when asked for by name.
 */
export async function bench(): Promise<Figure[]> {
  const executablePath = findChromium([chromium.executablePath()])
  if (!executablePath) {
    console.log('  (there is no Chromium here: no figures)')
    return []
  }
  const folder = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  try {
    await ensureBuilt([WINDOW], console.log)
    const log = join(folder, 'large.csv')
    await writeLog(log, ROWS)
    console.log(`  ${(statSync(log).size / 1e9).toFixed(2)} GB of text`)
    const program = await startProgram(join(folder, 'home'), [log])
    const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] })
    try {
      const page = await browser.newPage({ viewport: { width: 1280, height: 720 } })
      await page.goto(program.url)
      const add = page.getByRole('button', { name: 'Add to logbook' })
      await add.waitFor({ timeout: 120_000 })
      const idle_mb = memory_mb(program.pid, 'VmRSS')
      await page.evaluate(watch)
      const start_ms = performance.now()
      await add.click()
      await page.getByRole('button', { name: 'Take large as A, before' }).waitFor({ timeout: 600_000 })
      const added_ms = performance.now() - start_ms
      const { calls_ms, frames_ms } = await page.evaluate(() => (globalThis as unknown as Watched).watched)
      const peak_mb = memory_mb(program.pid, 'VmHWM')
      return [
        { name: 'added to the logbook', value: added_ms / 1000, unit: 's' },
        { name: 'small calls meanwhile, 95 of 100 within', value: share(calls_ms, 0.95), unit: 'ms' },
        { name: 'longest small call', value: share(calls_ms, 1), unit: 'ms' },
        { name: 'frames meanwhile, 95 of 100 within', value: share(frames_ms, 0.95), unit: 'ms' },
        { name: 'longest frame', value: share(frames_ms, 1), unit: 'ms' },
        { name: 'program before', value: idle_mb, unit: 'MB' },
        { name: 'program at its peak', value: peak_mb, unit: 'MB' },
      ]
    } finally {
      await browser.close()
      await program.stop()
    }
  } finally {
    rmSync(folder, { recursive: true })
  }
}

interface Watched {
  watched: { calls_ms: number[]; frames_ms: number[] }
}

/** In the page: notes how long small calls take, one every 50 ms, and how long frames. */
function watch(): void {
  const watched = { calls_ms: [] as number[], frames_ms: [] as number[] }
  ;(globalThis as unknown as Watched).watched = watched
  setInterval(() => {
    const start_ms = performance.now()
    void fetch('/desk/call/logbook.list', { method: 'POST', body: '{}' }).then(() =>
      watched.calls_ms.push(performance.now() - start_ms),
    )
  }, 50)
  let before_ms = performance.now()
  const frame = (): void => {
    const now_ms = performance.now()
    watched.frames_ms.push(now_ms - before_ms)
    before_ms = now_ms
    requestAnimationFrame(frame)
  }
  requestAnimationFrame(frame)
}

function share(values: readonly number[], part: number): number {
  const sorted = values.toSorted((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? NaN
}

/** A figure of the kernel's about a process, in MB; NaN where there is none. */
function memory_mb(pid: number, which: 'VmRSS' | 'VmHWM'): number {
  if (process.platform !== 'linux') return NaN
  const found = new RegExp(`${which}:\\s*(\\d+)`).exec(readFileSync(`/proc/${pid}/status`, 'utf8'))
  return (Number(found?.[1]) * 1024) / 1e6
}
