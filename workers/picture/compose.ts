import { drawBottom, layOutBottom } from './bottom.ts'
import type { PictureContext } from './context.ts'
import { drawHeader } from './header.ts'
import { drawLanes } from './lanes.ts'
import { layOutRows, type RowBoxes } from './layout.ts'
import { drawLegend } from './legend.ts'
import type { ComparisonPicture } from './model.ts'
import type { Pen } from './pen.ts'
import { drawRow, drawTimeAxis } from './rows.ts'
import { EDGE, leastHeight, legendHeight } from './size.ts'
import { drawTable, footnotesOf, layOutTable } from './table.ts'
import { PALETTES } from './theme.ts'

/** The size of a picture in CSS pixels and in the pixels of its canvas. */
export interface PictureSize {
  readonly width_px: number
  readonly height_px: number
  readonly canvasWidth: number
  readonly canvasHeight: number
}

/**
 * The size that the model's picture takes: 3 : 2, higher when rows, measures or notices need more.
 * Errors: RangeError for a width outside 900..2400, a scale outside 0..4, or a span that is none.
 */
export function pictureSize(model: ComparisonPicture): PictureSize {
  const { width_px, scale, span } = model
  if (!(width_px >= 900 && width_px <= 2400)) throw new RangeError(`width must be 900 to 2400: ${width_px}`)
  if (!(scale > 0 && scale <= 4)) throw new RangeError(`scale must be above 0 and at most 4: ${scale}`)
  if (!(span.t0_s < span.t1_s)) throw new RangeError(`the span is empty: ${span.t0_s} to ${span.t1_s} s`)
  const height_px = Math.max(Math.round((width_px * 2) / 3), Math.ceil(leastHeight(model)))
  return {
    width_px,
    height_px,
    canvasWidth: Math.round(width_px * scale),
    canvasHeight: Math.round(height_px * scale),
  }
}

/**
 * Draws the whole comparison onto a canvas of `pictureSize(model)`'s canvas pixels, from a context whose
 * state is fresh. The same model always gives the same calls. Text is measured with the context, so the
 * fonts of `PICTURE_FONT` must be loaded before.
 * Errors: as pictureSize; Error when a curve's or lane's arrays disagree in length.
 */
export function composeComparison(canvas2d: PictureContext, model: ComparisonPicture): void {
  const size = pictureSize(model)
  const pen: Pen = { context: canvas2d, palette: PALETTES[model.theme], scale: model.scale }
  canvas2d.save()
  canvas2d.scale(model.scale, model.scale)
  canvas2d.fillStyle = pen.palette.background
  canvas2d.fillRect(0, 0, size.width_px, size.height_px)

  const headerEnd = drawHeader(pen, model, EDGE.top)
  const table = layOutTable(model)
  const bottom = layOutBottom(pen, model, footnotesOf(table))
  const rowsTop = headerEnd + legendHeight(model)
  const bottomTop = size.height_px - EDGE.bottom - bottom.height
  const tableTop = bottomTop - table.height
  const layout = layOutRows(model, rowsTop, tableTop)

  for (const { flights, x, width } of layout.columns) drawLegend(pen, model, flights, x, width, rowsTop - 8)
  for (const boxes of layout.rows) drawRow(pen, boxes, rowOf(model, boxes), model.span)
  drawLanes(pen, model, layout)
  for (const box of layout.timeAxes) drawTimeAxis(pen, box, model.span)
  drawTable(pen, model, table, tableTop)
  drawBottom(pen, model, bottom, bottomTop)
  canvas2d.restore()
}

function rowOf(model: ComparisonPicture, boxes: RowBoxes): Parameters<typeof drawRow>[2] {
  const { name } = boxes
  const row =
    name === 'throttle'
      ? model.throttle
      : name === 'motors'
        ? model.motors
        : model.rows.find((one) => one.axis === name)
  if (row === undefined) throw new Error(`the picture has no row ${name}`)
  return row
}
