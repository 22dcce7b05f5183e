import { AXES } from '../flight/axes.ts'
import { formatFixed, formatSigned } from '../ticks/ticks.ts'
import type { ComparisonPicture, MeasureCell, PictureMeasure } from './model.ts'
import { drawLine, drawMark, FLIGHTS, MARGIN, type Pen, TYPE } from './pen.ts'
import { drawText, firstThatFits, fitEnd, plainLine, textWidth } from './text.ts'

const AXIS_COLUMN = 70
const NARROWEST_GROUP = 250
const HEAD = 44
const ROW = 20
const EVIDENCE = 16
/** The line that says what the measures below it are of. */
const HEADING = 22
const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹'

/** Measures beside each other. */
export interface TableBlock {
  readonly measures: readonly PictureMeasure[]
  /** What they are of, when that is new here; '' repeats nothing. */
  readonly heading: string
  /** True when cells carry a second line: word, interval, pairs. */
  readonly evidence: boolean
  readonly height: number
}

/** How the measures are arranged: blocks below each other, each of one kind. */
export interface TableLayout {
  readonly blocks: readonly TableBlock[]
  /** Why cells hold a dash, each reason once; cells carry its number from 1. */
  readonly reasons: readonly string[]
  readonly height: number
}

/** Arranges the table for the picture's width. */
export function layOutTable(model: ComparisonPicture): TableLayout {
  const axes = shownAxes(model)
  const cells = model.measures.flatMap((measure) => axes.map((axis) => measure.cells[axis]))
  const reasons = [...new Set(cells.map((cell) => cell?.reason ?? '').filter((reason) => reason !== ''))]
  const kinds = [...Map.groupBy(model.measures, (measure) => measure.of ?? '')]
  const blocks = kinds.flatMap(([of, measures]) => blocksOf(model, of, measures))
  return { blocks, reasons, height: blocks.reduce((sum, block) => sum + block.height, 0) }
}

function blocksOf(model: ComparisonPicture, of: string, measures: readonly PictureMeasure[]): TableBlock[] {
  const axes = shownAxes(model)
  const perBlock = Math.max(1, Math.floor((model.width_px - 2 * MARGIN - AXIS_COLUMN) / NARROWEST_GROUP))
  const count = Math.ceil(measures.length / perBlock)
  const even = Math.ceil(measures.length / Math.max(1, count))
  return Array.from({ length: count }, (_, index) => {
    const own = measures.slice(index * even, (index + 1) * even)
    const evidence = own.some((measure) =>
      axes.some((axis) => measure.cells[axis] !== undefined && evidenceOf(measure.cells[axis], 0) !== ''),
    )
    const heading = index === 0 ? of : ''
    const rows = axes.length * (ROW + (evidence ? EVIDENCE : 0))
    return { measures: own, heading, evidence, height: (heading === '' ? 0 : HEADING) + HEAD + rows + 10 }
  })
}

/** The reasons as lines below the table. */
export function footnotesOf(table: TableLayout): string[] {
  return table.reasons.map((reason, index) => `${superscript(index + 1)} ${reason}`)
}

/** The axes that the picture shows, in their usual order. */
export function shownAxes(model: ComparisonPicture): (typeof AXES)[number][] {
  return AXES.filter((axis) => model.rows.some((row) => row.axis === axis))
}

/** Draws the measures: an axis per row, and for each measure A, B and the difference. */
export function drawTable(pen: Pen, model: ComparisonPicture, table: TableLayout, top: number): void {
  let y = top
  for (const block of table.blocks) {
    let blockTop = y
    if (block.heading !== '') {
      const style = { size: TYPE.small, bold: true, colour: pen.palette.muted }
      const width = model.width_px - 2 * MARGIN
      drawText(pen.context, fitEnd(pen.context, block.heading, width, style), MARGIN, y + 15, style)
      blockTop += HEADING
    }
    drawBlock(pen, model, table.reasons, block, blockTop)
    y += block.height
  }
}

function drawBlock(
  pen: Pen,
  model: ComparisonPicture,
  reasons: readonly string[],
  { measures, evidence }: TableBlock,
  top: number,
): void {
  const { context, palette } = pen
  const width = model.width_px - 2 * MARGIN
  const groupWidth = (width - AXIS_COLUMN) / measures.length
  const rowHeight = ROW + (evidence ? EVIDENCE : 0)
  const axes = shownAxes(model)
  axes.forEach((axis, index) => {
    const rowTop = top + HEAD + index * rowHeight
    if (index % 2 === 0) {
      context.fillStyle = palette.stripe
      context.fillRect(MARGIN, rowTop, width, rowHeight)
    }
    const style = { size: TYPE.body, bold: true, colour: palette.text }
    drawText(context, axis[0]?.toUpperCase() + axis.slice(1), MARGIN + 6, rowTop + 15, style)
  })
  measures.forEach((measure, column) => {
    const x = MARGIN + AXIS_COLUMN + column * groupWidth
    drawGroupHead(pen, measure, x, top, groupWidth - 20)
    axes.forEach((axis, index) => {
      const cell = measure.cells[axis] ?? { a: null, b: null, difference: null }
      drawCell(pen, measure, cell, reasons, x, top + HEAD + index * rowHeight, groupWidth - 20)
    })
  })
}

/** Right edges of the three number columns within a group. */
function numberColumns(x: number, width: number): { a: number; b: number; difference: number } {
  return { a: x + width * 0.25, b: x + width * 0.52, difference: x + width }
}

/** Label, unit and the good direction; the label gives way first, since the others are short and needed. */
function headText(pen: Pen, measure: PictureMeasure, width: number): string {
  const style = { size: TYPE.small, bold: true }
  const unit = `, ${plainLine(measure.unit)}`
  const aims = {
    lower: ['lower is better', '↓ better'],
    higher: ['higher is better', '↑ better'],
    neither: [],
  }
  const ends = aims[measure.better].map((aim) => `${unit}, ${aim}`)
  if (ends.length === 0) ends.push(unit)
  const label = plainLine(measure.label)
  for (const end of ends) {
    if (textWidth(pen.context, label + end, style) <= width) return label + end
  }
  const end = ends.at(-1) as string
  return fitEnd(
    pen.context,
    fitEnd(pen.context, label, width - textWidth(pen.context, end, style), style) + end,
    width,
    style,
  )
}

function drawGroupHead(pen: Pen, measure: PictureMeasure, x: number, top: number, width: number): void {
  const { context, palette } = pen
  const style = { size: TYPE.small, bold: true, colour: palette.text }
  drawText(context, headText(pen, measure, width), x, top + 16, style)
  drawLine(pen, [x, top + 22.5], [x + width, top + 22.5], palette.frame, 1)
  const columns = numberColumns(x, width)
  const small = { size: TYPE.small, colour: palette.muted, align: 'right' as const }
  for (const flight of FLIGHTS) {
    drawText(context, flight.toUpperCase(), columns[flight], top + 38, small)
    drawMark(pen, flight, columns[flight] - 18, top + 34, palette.flight[flight], palette.background)
  }
  drawText(context, 'B − A', columns.difference, top + 38, small)
}

function drawCell(
  pen: Pen,
  measure: PictureMeasure,
  cell: MeasureCell,
  reasons: readonly string[],
  x: number,
  top: number,
  width: number,
): void {
  const { context, palette } = pen
  const columns = numberColumns(x, width)
  const style = { size: TYPE.body, colour: palette.text, align: 'right' as const }
  const sign = cell.reason === undefined ? '' : superscript(reasons.indexOf(cell.reason) + 1)
  const number = (value: number | null): string =>
    value === null ? `–${sign}` : formatFixed(value, measure.digits)
  drawText(context, fitEnd(context, number(cell.a), width * 0.25, style), columns.a, top + 15, style)
  drawText(context, fitEnd(context, number(cell.b), width * 0.25, style), columns.b, top + 15, style)
  const bold = { ...style, bold: true }
  const differences =
    cell.difference === null
      ? [`–${sign}`]
      : [differenceText(measure, cell), formatSigned(cell.difference, measure.digits)]
  drawText(
    context,
    firstThatFits(context, differences, width * 0.44, bold),
    columns.difference,
    top + 15,
    bold,
  )
  const parts = evidenceParts(cell, measure.digits)
  const evidence = parts.map((_, index) => parts.slice(0, parts.length - index).join(', '))
  const small = { ...style, size: TYPE.small }
  drawText(context, firstThatFits(context, evidence, width, small), columns.difference, top + 31, small)
}

/** '−3.1 (−12 %)'; the share is of A, and left out where A is not above zero, B below it, or there is no
 * difference to see. */
export function differenceText(measure: PictureMeasure, cell: MeasureCell): string {
  if (cell.difference === null) return '–'
  const text = formatSigned(cell.difference, measure.digits)
  const zero = Number(Math.abs(cell.difference).toFixed(measure.digits)) === 0
  if (zero || cell.a === null || cell.b === null || !(cell.a > 0) || cell.b < 0) return text
  return `${text} (${formatSigned((100 * cell.difference) / cell.a, 0)} %)`
}

/** 'better, −5.0 to −1.2, 14 pairs', as far as it is known. */
export function evidenceOf(cell: MeasureCell, digits: number): string {
  return evidenceParts(cell, digits).join(', ')
}

/** Most important first. */
function evidenceParts(cell: MeasureCell, digits: number): string[] {
  const parts: string[] = []
  if (cell.word !== undefined) parts.push(cell.word)
  if (cell.interval !== undefined) {
    parts.push(`${formatSigned(cell.interval.low, digits)} to ${formatSigned(cell.interval.high, digits)}`)
  }
  if (cell.pairs !== undefined) parts.push(cell.pairs === 1 ? '1 pair' : `${cell.pairs} pairs`)
  return parts
}

function superscript(number: number): string {
  return Array.from(String(number), (digit) => SUPERSCRIPTS[Number(digit)]).join('')
}
