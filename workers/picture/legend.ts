import type { ComparisonPicture, FlightKey } from './model.ts'
import { drawMark, FLIGHTS, LINE_WIDTH, type Pen, SETPOINT_DASH, SETPOINT_OFFSET, TYPE } from './pen.ts'
import { drawText, textWidth } from './text.ts'

const SAMPLE = 34
const GAP = 18
export const LEGEND_LINE = 20

interface Entry {
  readonly flight: FlightKey
  readonly signal: 'gyro' | 'setpoint'
  readonly present: boolean
  readonly text: string
}

export interface Legend {
  readonly lines: readonly (readonly { readonly entry: Entry; readonly x: number }[])[]
  readonly height: number
}

/** Breaks the legend into lines of at most `width`. A curve that a log lacks is named as lacking. */
export function layOutLegend(pen: Pen, model: ComparisonPicture, x: number, width: number): Legend {
  if (model.rows.length === 0) return { lines: [], height: 0 }
  const lines: { entry: Entry; x: number }[][] = [[]]
  let at = x
  for (const entry of entriesOf(model)) {
    const size = (entry.present ? SAMPLE + 6 : 0) + textWidth(pen.context, entry.text, { size: TYPE.small })
    if (at > x && at + size > x + width) {
      lines.push([])
      at = x
    }
    lines.at(-1)?.push({ entry, x: at })
    at += size + GAP
  }
  return { lines, height: lines.length * LEGEND_LINE }
}

function entriesOf(model: ComparisonPicture): Entry[] {
  const entries: Entry[] = []
  for (const flight of FLIGHTS) {
    for (const signal of ['gyro', 'setpoint'] as const) {
      const present = model.rows.some((row) =>
        row.traces.some((trace) => trace.flight === flight && trace.signal === signal),
      )
      const name = `${flight.toUpperCase()} ${signal}`
      entries.push({ flight, signal, present, text: present ? name : `${name}: not in the log` })
    }
  }
  return entries
}

/** Draws the legend with its last line's baseline at bottom_y. */
export function drawLegend(pen: Pen, legend: Legend, bottom_y: number): void {
  const { context, palette } = pen
  legend.lines.forEach((line, index) => {
    const y = bottom_y - (legend.lines.length - 1 - index) * LEGEND_LINE
    for (const { entry, x } of line) {
      const textX = entry.present ? x + SAMPLE + 6 : x
      if (entry.present) drawSample(pen, entry, x, y - 4.5)
      const colour = entry.present ? palette.text : palette.muted
      drawText(context, entry.text, textX, y, { size: TYPE.small, colour })
    }
  })
}

function drawSample(pen: Pen, entry: Entry, x: number, y: number): void {
  const { context, palette } = pen
  const dashed = entry.signal === 'setpoint'
  context.strokeStyle = palette.flight[entry.flight]
  context.lineWidth = LINE_WIDTH[entry.signal]
  context.setLineDash(dashed ? [...SETPOINT_DASH] : [])
  context.lineDashOffset = dashed ? SETPOINT_OFFSET[entry.flight] : 0
  context.beginPath()
  context.moveTo(x, y)
  context.lineTo(x + SAMPLE, y)
  context.stroke()
  context.setLineDash([])
  context.lineDashOffset = 0
  if (!dashed)
    drawMark(pen, entry.flight, x + SAMPLE / 2, y, palette.flight[entry.flight], palette.background)
}
