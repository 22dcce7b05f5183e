/** The page of the picture's benchmark: the same picture in a worker, and on the window's own thread. */
import { transfer, wrap } from 'comlink'
import boldUrl from 'dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf?url'
import regularUrl from 'dejavu-fonts-ttf/ttf/DejaVuSans.ttf?url'
import { composeComparison, pictureSize } from '../../workers/picture/compose.ts'
import { transferables, type ComparisonPicture } from '../../workers/picture/model.ts'
import type { PictureApi } from '../../workers/picture/picture.worker.ts'
import { PICTURE_FONT } from '../../workers/picture/theme.ts'

/** How long one picture took, and the longest time between two frames meanwhile. */
export interface Timed {
  readonly took_ms: number
  readonly longest_ms: number
  readonly width: number
  readonly height: number
}

const worker = new Worker(new URL('../../workers/picture/picture.worker.ts', import.meta.url), {
  type: 'module',
})
const remote = wrap<PictureApi>(worker)
const address = (url: string): string => new URL(url, location.href).href
const fonts = { regularUrl: address(regularUrl), boldUrl: address(boldUrl) }

/** Typed arrays come as text: `{"f32": [...]}`. */
function revive(_key: string, value: unknown): unknown {
  if (value === null || typeof value !== 'object') return value
  if ('f32' in value) return Float32Array.from(value.f32 as (number | null)[], (one) => one ?? NaN)
  if ('f64' in value) return Float64Array.from(value.f64 as number[])
  return value
}

async function timed(
  model: ComparisonPicture,
  work: (model: ComparisonPicture) => Promise<unknown>,
): Promise<Timed> {
  // The model's curves are handed over with the work.
  const { canvasWidth, canvasHeight } = pictureSize(model)
  let longest_ms = 0
  let running = true
  await new Promise(requestAnimationFrame)
  let last_ms = performance.now()
  const look = (): void => {
    const now_ms = performance.now()
    longest_ms = Math.max(longest_ms, now_ms - last_ms)
    last_ms = now_ms
    if (running) requestAnimationFrame(look)
  }
  requestAnimationFrame(look)
  const began_ms = performance.now()
  await work(model)
  const took_ms = performance.now() - began_ms
  await new Promise(requestAnimationFrame)
  await new Promise(requestAnimationFrame)
  running = false
  return { took_ms, longest_ms, width: canvasWidth, height: canvasHeight }
}

async function inWorker(model: ComparisonPicture): Promise<void> {
  await remote.drawPng(transfer(model, transferables(model)), fonts)
}

async function onMainThread(model: ComparisonPicture): Promise<void> {
  const { canvasWidth, canvasHeight } = pictureSize(model)
  const canvas = document.createElement('canvas')
  canvas.width = canvasWidth
  canvas.height = canvasHeight
  const context = canvas.getContext('2d', { alpha: false })
  if (!context) throw new Error('this browser has no canvas')
  composeComparison(context, model)
  if (!canvas.toDataURL('image/png').startsWith('data:image/png')) throw new Error('no picture')
}

Object.assign(window, {
  run: async (text: string, where: 'worker' | 'main') => {
    for (const [url, weight] of [
      [regularUrl, 'normal'],
      [boldUrl, 'bold'],
    ] as const)
      document.fonts.add(await new FontFace(PICTURE_FONT, `url(${address(url)})`, { weight }).load())
    const model = JSON.parse(text, revive) as ComparisonPicture
    return timed(model, where === 'worker' ? inWorker : onMainThread)
  },
})
