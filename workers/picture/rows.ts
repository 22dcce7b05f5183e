import { formatFixed, niceTicks, timeTicks, type Ticks } from '../ticks/ticks.ts'
import { restlessness } from './arrangement.ts'
import { NAME_COLUMN, type RowBoxes, TIME_AXIS } from './layout.ts'
import type { ExtraRow, FlightKey, PictureSpan, PictureTrace } from './model.ts'
import {
  type Box,
  drawLine,
  drawMark,
  LINE_WIDTH,
  MARGIN,
  type Pen,
  SETPOINT_DASH,
  SETPOINT_OFFSET,
  TYPE,
} from './pen.ts'
import { drawText, fitEnd, textWidth } from './text.ts'

/** CSS pixels between marks on a curve. */
const MARK_DISTANCE = 130
/** How far from its place a mark may move along the curve, in CSS pixels. */
const MARK_REACH = 10

/** A row with its scale and curves, whatever it shows. */
export type AnyRow = ExtraRow

/** Draws one row: name and unit, ticks, grid, curves with their marks, in each of its panes. */
export function drawRow(pen: Pen, boxes: RowBoxes, row: AnyRow, span: PictureSpan): void {
  const { context, palette } = pen
  const first = boxes.panes[0]
  if (first === undefined) throw new Error(`the row ${boxes.name} has no pane`)
  const top = first.box.y
  const name = boxes.name[0]?.toUpperCase() + boxes.name.slice(1)
  drawText(context, name, MARGIN, top + 13, { size: TYPE.body, bold: true, colour: palette.text })
  const unitStyle = { size: TYPE.small, colour: palette.muted }
  drawText(context, fitEnd(context, row.unit, NAME_COLUMN - 6, unitStyle), MARGIN, top + 30, unitStyle)
  boxes.panes.forEach(({ box, flights }, index) => {
    const ticks = rowTicks(row, box.height)
    drawPane(pen, box)
    drawGrid(pen, box, row, ticks)
    drawTimeGrid(pen, box, span)
    if (index === 0) drawTickNumbers(pen, box, row, ticks)
    const traces = inDrawingOrder(
      row,
      span,
      row.traces.filter((trace) => flights.includes(trace.flight)),
    )
    clipped(pen, box, () => {
      for (const trace of traces) drawTrace(pen, box, row, span, trace)
    })
    drawFrame(pen, box)
    // Not clipped: a mark on a curve that runs along the frame is still a whole mark.
    for (const flight of flights) drawMarks(pen, box, row, span, flight)
  })
}

/** About a tick every 20 pixels; where that leaves fewer than three to read by, the scale's ends and middle. */
function rowTicks(row: AnyRow, height: number): Ticks {
  const { yMin, yMax } = row
  const ticks = niceTicks(yMin, yMax, Math.min(9, Math.max(3, Math.floor(height / 20))))
  if (ticks.values.length >= 3) return ticks
  const middle = yMin < 0 && yMax > 0 ? 0 : (yMin + yMax) / 2
  const values = [yMin, middle, yMax]
  const exact = (digits: number): boolean => values.every((value) => Number(value.toFixed(digits)) === value)
  const digits = [0, 1, 2].find(exact) ?? ticks.digits + 1
  const labels = values.map((value) => formatFixed(value, digits))
  return { step: yMax - middle, values, digits, labels }
}

/** Background of a pane. */
export function drawPane(pen: Pen, box: Box): void {
  pen.context.fillStyle = pen.palette.pane
  pen.context.fillRect(box.x, box.y, box.width, box.height)
}

/** Frame of a pane, drawn last so that curves end at it. */
export function drawFrame(pen: Pen, box: Box): void {
  pen.context.setLineDash([])
  pen.context.strokeStyle = pen.palette.frame
  pen.context.lineWidth = 1
  pen.context.strokeRect(box.x + 0.5, box.y + 0.5, box.width - 1, box.height - 1)
}

/** Runs `draw` with everything outside the box cut off. */
export function clipped(pen: Pen, box: Box, draw: () => void): void {
  pen.context.save()
  pen.context.beginPath()
  pen.context.rect(box.x, box.y, box.width, box.height)
  pen.context.clip()
  draw()
  pen.context.restore()
}

/**
 * The calmest curve last, so that it lies on top: a noisy one would hide it, and the same rule holds for A and
 * B. Among equals setpoints lie below, so that the gyro is seen.
 */
function inDrawingOrder(row: AnyRow, span: PictureSpan, traces: readonly PictureTrace[]): PictureTrace[] {
  const rank = (trace: PictureTrace): number => (trace.signal === 'setpoint' ? 0 : 1)
  return traces
    .map((trace) => ({ trace, restless: Math.round(10 * restlessness(row, span, trace)) }))
    .sort((one, other) => other.restless - one.restless || rank(one.trace) - rank(other.trace))
    .map(({ trace }) => trace)
}

function drawGrid(pen: Pen, box: Box, row: AnyRow, ticks: Ticks): void {
  for (const value of ticks.values) {
    const y = yAt(box, row, value)
    const colour = value === 0 ? pen.palette.zero : pen.palette.grid
    drawLine(pen, [box.x, y], [box.x + box.width, y], colour, 1)
  }
}

function drawTickNumbers(pen: Pen, box: Box, row: AnyRow, ticks: Ticks): void {
  const style = { size: TYPE.small, colour: pen.palette.muted, align: 'right' as const }
  let lastY = Number.POSITIVE_INFINITY
  ticks.values.forEach((value, index) => {
    // At the ends the number is pushed into the row's own height, so that rows never touch.
    const y = yAt(box, row, value)
    const baseline = Math.min(box.y + box.height, Math.max(box.y + 10, y + 4.5))
    if (lastY - baseline < 14) return
    lastY = baseline
    drawText(pen.context, ticks.labels[index] as string, box.x - 6, baseline, style)
  })
}

/** Vertical lines at the ticks of the time axis. */
export function drawTimeGrid(pen: Pen, box: Box, span: PictureSpan): void {
  for (const t_s of spanTicks(box, span).values) {
    const x = xAt(box, span, t_s)
    drawLine(pen, [x, box.y], [x, box.y + box.height], pen.palette.grid, 1)
  }
}

function spanTicks(box: Box, span: PictureSpan): Ticks {
  return timeTicks(span.t0_s, span.t1_s, Math.max(2, Math.floor(box.width / 80)))
}

/** The numbers below the lowest pane of a column. */
export function drawTimeAxis(pen: Pen, box: Box, span: PictureSpan): void {
  const ticks = spanTicks(box, span)
  const style = { size: TYPE.small, colour: pen.palette.muted }
  const bottom = box.y + box.height
  let free = Number.NEGATIVE_INFINITY
  ticks.values.forEach((t_s, index) => {
    const label = ticks.labels[index] as string
    const width = textWidth(pen.context, label, style)
    const x = xAt(box, span, t_s)
    const left = Math.min(box.x + box.width - width, Math.max(box.x, x - width / 2))
    drawLine(pen, [x, bottom], [x, bottom + 4], pen.palette.frame, 1)
    if (left < free) return
    free = left + width + 8
    drawText(pen.context, label, left, bottom + TIME_AXIS - 7, style)
  })
}

function drawTrace(pen: Pen, box: Box, row: AnyRow, span: PictureSpan, trace: PictureTrace): void {
  if (trace.t_s.length !== trace.y.length) {
    throw new Error(`a curve has ${trace.t_s.length} times and ${trace.y.length} values`)
  }
  const { context } = pen
  const dashed = trace.signal === 'setpoint'
  context.strokeStyle = pen.palette.flight[trace.flight]
  context.lineWidth = dashed
    ? LINE_WIDTH.setpoint
    : trace.signal === 'gyro'
      ? LINE_WIDTH.gyro
      : LINE_WIDTH.extra
  context.globalAlpha = trace.signal === 'motor' ? 0.6 : 1
  context.lineJoin = 'round'
  context.lineCap = 'butt'
  context.setLineDash(dashed ? [...SETPOINT_DASH] : [])
  context.lineDashOffset = dashed ? SETPOINT_OFFSET[trace.flight] : 0
  context.beginPath()
  const [first, last] = visible(trace.t_s, span)
  let broken = true
  for (let index = first; index < last; index++) {
    const y = trace.y[index] as number
    if (y !== y) {
      broken = true
      continue
    }
    const x_px = xAt(box, span, trace.t_s[index] as number)
    const y_px = yAt(box, row, y)
    if (broken) context.moveTo(x_px, y_px)
    else context.lineTo(x_px, y_px)
    broken = false
  }
  context.stroke()
  context.setLineDash([])
  context.lineDashOffset = 0
  context.globalAlpha = 1
}

/**
 * The flight's marks along its main curve, B's half-way between A's. Each stands on a point of the curve: of
 * those around, the one with the middle value, so that no mark hangs on the tip of a noise spike.
 */
function drawMarks(pen: Pen, box: Box, row: AnyRow, span: PictureSpan, flight: FlightKey): void {
  const trace = row.traces.find((one) => one.flight === flight && one.signal !== 'setpoint')
  if (trace === undefined) return
  const secondsPerPixel = (span.t1_s - span.t0_s) / box.width
  const start = flight === 'a' ? MARK_DISTANCE / 4 : (3 * MARK_DISTANCE) / 4
  for (let offset = start; offset < box.width - 8; offset += MARK_DISTANCE) {
    const t_s = span.t0_s + offset * secondsPerPixel
    const from = lowerBound(trace.t_s, t_s - MARK_REACH * secondsPerPixel)
    const to = lowerBound(trace.t_s, t_s + MARK_REACH * secondsPerPixel)
    const around: { t_s: number; y: number }[] = []
    for (let index = from; index < to; index++) {
      const y = trace.y[index] as number
      if (y === y) around.push({ t_s: trace.t_s[index] as number, y })
    }
    const point = around.sort((one, other) => one.y - other.y)[around.length >> 1]
    if (point === undefined) continue
    const y_px = yAt(box, row, point.y)
    if (y_px < box.y || y_px > box.y + box.height) continue
    drawMark(pen, flight, xAt(box, span, point.t_s), y_px, pen.palette.flight[flight], pen.palette.pane)
  }
}

/** Indices [first, last) of the points in the span and one to either side, so that curves reach the frame. */
function visible(t_s: Float64Array, span: PictureSpan): [number, number] {
  const first = lowerBound(t_s, span.t0_s)
  const last = lowerBound(t_s, span.t1_s)
  return [Math.max(0, first - 1), Math.min(t_s.length, last + 1)]
}

/** The first index whose time is not before `wanted`. */
function lowerBound(t_s: Float64Array, wanted: number): number {
  let low = 0
  let high = t_s.length
  while (low < high) {
    const middle = (low + high) >> 1
    if ((t_s[middle] as number) < wanted) low = middle + 1
    else high = middle
  }
  return low
}

export function xAt(box: Box, span: PictureSpan, t_s: number): number {
  return box.x + ((t_s - span.t0_s) / (span.t1_s - span.t0_s)) * box.width
}

function yAt(box: Box, row: AnyRow, y: number): number {
  return box.y + box.height - ((y - row.yMin) / (row.yMax - row.yMin)) * box.height
}
