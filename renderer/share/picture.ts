import { buildPicture } from '../../workers/comparison/build-picture.ts'
import { perAxis } from '../../workers/flight/axes.ts'
import { transferables, type PictureTheme } from '../../workers/picture/model.ts'
import type { Comparison } from '../compare/comparison.svelte.ts'
import { dayInWords } from '../logbook/words.ts'
import { comparisonWorkers, pictureWorkers } from '../work/workers.ts'
import { proxy, transfer } from 'comlink'
import { pictureFonts } from './picture-fonts.ts'

export interface PictureChoices {
  readonly title: string
  readonly note: string
  readonly theme: PictureTheme
  readonly width_px: number
}

/** Frames per lane of a picture: one for each device pixel of a 1200 px picture's curves. */
const LANE_COLUMNS = 1000

/**
 * Draws the comparison picture of what is visible, off the main thread; PNG bytes.
 * @throws Problem 'cancelled' or 'worker-died'; Error when nothing is loaded yet.
 */
export async function drawPicture(
  comparison: Comparison,
  choices: PictureChoices,
  signal: AbortSignal,
): Promise<Uint8Array<ArrayBuffer>> {
  const { a, b, alignment, offset_s, range_db } = comparison
  if (!a || !b || !alignment) throw new Error('a picture needs both flights')
  const { t0_s, t1_s } = comparison.view.span
  const measures = await comparisonWorkers.run(
    (worker) => worker.measure(a.signals, b.signals, offset_s, t0_s, t1_s),
    signal,
  )
  const noProgress = proxy(() => {})
  const lane = (flight: typeof a, shift_s: number) => async (axis: 'roll' | 'pitch' | 'yaw') =>
    comparisonWorkers.run(
      (worker) => worker.lane(flight.signals, axis, t0_s - shift_s, t1_s - shift_s, LANE_COLUMNS, noProgress),
      signal,
    )
  const lanesOf = async (flight: typeof a, shift_s: number) => {
    const [roll, pitch, yaw] = await Promise.all(
      (['roll', 'pitch', 'yaw'] as const).map(lane(flight, shift_s)),
    )
    const found = { roll, pitch, yaw }
    return perAxis((axis) => found[axis] ?? null)
  }
  const model = buildPicture({
    ...choices,
    a,
    b,
    words: { a: wordsOf(a.detail), b: wordsOf(b.detail) },
    alignment,
    offset_s,
    t0_s,
    t1_s,
    measures,
    lanes: { a: await lanesOf(a, 0), b: await lanesOf(b, offset_s) },
    range_db,
    verdict: comparison.verdict.found,
  })
  return pictureWorkers.run(
    (worker) => worker.drawPng(transfer(model, transferables(model)), pictureFonts()),
    signal,
  )
}

function wordsOf(detail: { name: string; craft: string; flownAt_ms: number | null }) {
  return {
    name: detail.name,
    craft: detail.craft,
    date: detail.flownAt_ms === null ? null : dayInWords(detail),
  }
}
