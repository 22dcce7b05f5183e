import { chromium } from '@playwright/test'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'vite'
import { findChromium } from '../../electron/browser/find.ts'
import { contentType } from '../../electron/host/content-types.ts'
import { pictureSize } from '../../workers/picture/compose.ts'
import type { ComparisonPicture } from '../../workers/picture/model.ts'
import { inventedFlight, modelOf } from '../unit/picture/sample-models.ts'
import type { Figure } from './run.ts'
import type { Timed } from './picture-page.ts'

const RUNS = 9

/**
 * The comparison picture of two flights of 20 s at 1 kHz in Chromium, 2400 x 1600 or larger: composed and encoded in the
 * worker as the window does it, against the same drawing with `canvas.toDataURL` on the window's own thread. Medians;
 * the longest frame is the worst of all runs but the first, which loads fonts and code.
 */
export async function bench(): Promise<Figure[]> {
  const a = inventedFlight('A (before)', 0.35, 3)
  const b = inventedFlight('B (after)', 0.7, 3)
  const model = modelOf(a, b, { t0_s: 0, t1_s: 20 }, { arrangement: 'overlaid' })
  const folder = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  const server = await servePage(folder)
  const executablePath = findChromium()
  const browser = await chromium.launch({
    ...(executablePath === null ? {} : { executablePath }),
    args: ['--no-sandbox'],
  })
  try {
    const page = await browser.newPage()
    await page.goto(`http://127.0.0.1:${(server.address() as AddressInfo).port}/`)
    const text = written(model)
    const times = { worker: [] as Timed[], main: [] as Timed[] }
    for (let run = 0; run <= RUNS; run++) {
      for (const where of ['worker', 'main'] as const) {
        const timed = await page.evaluate(
          ([text, where]) =>
            (window as unknown as { run: (text: string, where: string) => Promise<Timed> }).run(text, where),
          [text, where] as const,
        )
        if (run > 0) times[where].push(timed)
      }
    }
    const median = (all: readonly Timed[], of: (one: Timed) => number): number =>
      all.map(of).sort((x, y) => x - y)[all.length >> 1] as number
    const worker_ms = median(times.worker, ({ took_ms }) => took_ms)
    const { canvasWidth, canvasHeight } = pictureSize(model)
    const size = `${canvasWidth} x ${canvasHeight}`
    return [
      {
        name: `picture ${size}, composed and encoded in the worker`,
        value: worker_ms,
        unit: 'ms',
        goal: '<= 500 ms',
      },
      {
        name: 'longest frame meanwhile, worst run',
        value: Math.max(...times.worker.map(({ longest_ms }) => longest_ms)),
        unit: 'ms',
        goal: '<= 50 ms',
      },
      {
        name: 'peer: the same with toDataURL on the window’s thread',
        value: median(times.main, ({ took_ms }) => took_ms),
        unit: 'ms',
      },
      {
        name: 'peer: longest frame meanwhile, median',
        value: median(times.main, ({ longest_ms }) => longest_ms),
        unit: 'ms',
      },
    ]
  } finally {
    await browser.close()
    server.close()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** The model as text that the page reads back, typed arrays included. */
function written(model: ComparisonPicture): string {
  return JSON.stringify(model, (_key, value: unknown) => {
    if (value instanceof Float32Array) return { f32: [...value] }
    if (value instanceof Float64Array) return { f64: [...value] }
    return value
  })
}

/** Builds the page and serves it to this machine. */
async function servePage(folder: string) {
  writeFileSync(
    join(folder, 'index.html'),
    '<!doctype html><title>Bench</title><script type="module" src="/page.js"></script>',
  )
  await build({
    configFile: false,
    logLevel: 'warn',
    build: {
      outDir: join(folder, 'out'),
      assetsInlineLimit: 0,
      rolldownOptions: {
        input: join(import.meta.dirname, 'picture-page.ts'),
        output: { entryFileNames: 'page.js' },
      },
    },
    worker: { format: 'es' },
  })
  const server = createServer((request, response) => {
    const path = new URL(request.url ?? '/', 'http://bench').pathname
    const file = path === '/' ? join(folder, 'index.html') : join(folder, 'out', path)
    // Browsers ask for an icon, too.
    if (!existsSync(file)) response.writeHead(404).end()
    else response.writeHead(200, { 'content-type': contentType(file) }).end(readFileSync(file))
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  return server
}

if (import.meta.main) console.table(await bench())
