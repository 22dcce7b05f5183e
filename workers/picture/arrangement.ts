import type { Arrangement, ComparisonPicture, ExtraRow, PictureSpan, PictureTrace } from './model.ts'

/** A pane's usual size in CSS pixels, to judge curves by before anything is laid out. */
const PANE = { width: 580, height: 110 } as const

/** Taller than this per pixel to the right, a curve is a band that hides what lies below it. */
const BUSY = 4

/**
 * How to arrange the picture when its model leaves that open: curves that would cover each other go into
 * columns of their own. (The limit was found by eye on flown and simulated logs.)
 */
export function arrangementOf(model: ComparisonPicture): Arrangement {
  if (model.arrangement !== undefined) return model.arrangement
  const busy = model.rows.some((row) =>
    row.traces.some((trace) => restlessness(row, model.span, trace) > BUSY),
  )
  return busy ? 'beside' : 'overlaid'
}

/**
 * Mean height in pixels that a curve takes up in a pixel column of a usual pane, the way from the column
 * before included. It does not depend on how finely the curve was reduced, as a path's length would.
 */
export function restlessness(row: ExtraRow, span: PictureSpan, trace: PictureTrace): number {
  const columnsPerSecond = PANE.width / (span.t1_s - span.t0_s)
  let sum = 0
  let column = -1
  let low = Number.NaN
  let high = Number.NaN
  let before = Number.NaN
  for (let index = 0; index < trace.y.length; index++) {
    const t_s = trace.t_s[index] as number
    const y = trace.y[index] as number
    if (t_s < span.t0_s || t_s > span.t1_s) continue
    const here = Math.floor((t_s - span.t0_s) * columnsPerSecond)
    if (here !== column || y !== y) {
      if (high > low) sum += high - low
      column = here
      low = high = before
    }
    // Comparisons with NaN are false: after a gap the first value starts anew.
    if (!(low <= y)) low = y
    if (!(high >= y)) high = y
    before = y
  }
  if (high > low) sum += high - low
  return ((sum / (row.yMax - row.yMin)) * PANE.height) / PANE.width
}
