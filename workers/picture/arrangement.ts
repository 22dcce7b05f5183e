import type { Arrangement, ComparisonPicture, ExtraRow, PictureSpan, PictureTrace } from './model.ts'

/** A pane's usual size in CSS pixels, to judge curves by before anything is laid out. */
const PANE = { width: 580, height: 110 } as const

/** Up and down by more than this per pixel to the right, a curve is a band that hides what lies below it. */
const BUSY = 4

/**
 * How to arrange the picture when its model leaves that open: curves that would cover each other go into
 * columns of their own. (The limit was found by eye on flown and simulated logs.)
 */
export function arrangementOf(model: ComparisonPicture): Arrangement {
  if (model.arrangement !== undefined) return model.arrangement
  const busy = model.rows.some((row) => row.traces.some((trace) => travel(row, model.span, trace) > BUSY))
  return busy ? 'beside' : 'overlaid'
}

/** Pixels that a curve goes up and down within the span, per pixel of a usual pane's width. */
export function travel(row: ExtraRow, span: PictureSpan, trace: PictureTrace): number {
  let sum = 0
  let before = Number.NaN
  for (let index = 0; index < trace.y.length; index++) {
    const t_s = trace.t_s[index] as number
    if (t_s < span.t0_s || t_s > span.t1_s) continue
    const y = trace.y[index] as number
    if (y === y && before === before) sum += Math.abs(y - before)
    before = y
  }
  return ((sum / (row.yMax - row.yMin)) * PANE.height) / PANE.width
}
