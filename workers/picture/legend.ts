import type { ComparisonPicture, FlightKey } from './model.ts'
import { drawMark, LINE_WIDTH, type Pen, SETPOINT_DASH, TYPE } from './pen.ts'
import { drawText, fitEnd, textWidth } from './text.ts'

const SAMPLE = 34
/** Where the second curve's sample begins, as a share of the legend's width. */
const SECOND = 0.46
export const LEGEND_LINE = 20

/** What the words mean, for a reader who never saw a log. */
const MEANING = { gyro: 'what the craft did', setpoint: 'what was asked' } as const

/**
 * Draws the legend above a column of panes: a line for each flight, the last with its baseline at bottom_y.
 * A curve that a log lacks is named as lacking.
 */
export function drawLegend(
  pen: Pen,
  model: ComparisonPicture,
  flights: readonly FlightKey[],
  x: number,
  width: number,
  bottom_y: number,
): void {
  if (model.rows.length === 0) return
  flights.forEach((flight, index) => {
    const y = bottom_y - (flights.length - 1 - index) * LEGEND_LINE
    drawEntry(pen, model, flight, 'gyro', x, width * SECOND - 12, y)
    drawEntry(pen, model, flight, 'setpoint', x + width * SECOND, width * (1 - SECOND), y)
  })
}

function drawEntry(
  pen: Pen,
  model: ComparisonPicture,
  flight: FlightKey,
  signal: 'gyro' | 'setpoint',
  x: number,
  width: number,
  y: number,
): void {
  const present = model.rows.some((row) =>
    row.traces.some((trace) => trace.flight === flight && trace.signal === signal),
  )
  const { context, palette } = pen
  const textX = present ? x + SAMPLE + 6 : x
  if (present) drawSample(pen, flight, signal, x, y - 4.5)
  const style = { size: TYPE.small, colour: present ? palette.text : palette.muted }
  const name = `${flight.toUpperCase()} ${signal}`
  const full = `${name}: ${present ? MEANING[signal] : 'not in the log'}`
  const fits = !present || textWidth(context, full, style) <= x + width - textX
  drawText(context, fitEnd(context, fits ? full : name, x + width - textX, style), textX, y, style)
}

function drawSample(pen: Pen, flight: FlightKey, signal: 'gyro' | 'setpoint', x: number, y: number): void {
  const { context, palette } = pen
  context.strokeStyle = palette.flight[flight]
  context.lineWidth = LINE_WIDTH[signal]
  context.setLineDash(signal === 'setpoint' ? [...SETPOINT_DASH] : [])
  context.lineDashOffset = 0
  context.beginPath()
  context.moveTo(x, y)
  context.lineTo(x + SAMPLE, y)
  context.stroke()
  context.setLineDash([])
  if (signal === 'gyro') {
    drawMark(pen, flight, x + SAMPLE / 2, y, palette.flight[flight], palette.background)
  }
}
