import { COLOUR_MAPS } from '../colour/colour-maps.ts'
import { paintLevels, rgbOf } from '../colour/paint-levels.ts'
import { resampleLevels } from '../colour/resample-levels.ts'
import { niceTicks } from '../ticks/ticks.ts'
import { barBox, type RowBoxes } from './layout.ts'
import type { ComparisonPicture, FlightKey, PictureSpectrograms, SpectrogramLane } from './model.ts'
import { type Box, drawLine, drawMark, FLIGHTS, type Pen, TYPE } from './pen.ts'
import { drawTimeAxis } from './rows.ts'
import { drawText, fitEnd, textWidth } from './text.ts'

/** Draws all spectrograms with their headings, frequency ticks, time axis and the common colour bar. */
export function drawLanes(pen: Pen, model: ComparisonPicture, rows: readonly RowBoxes[]): void {
  const { spectrograms } = model
  const withLanes = rows.filter((row) => row.lanes !== undefined)
  const first = withLanes[0]
  const last = withLanes.at(-1)
  const bar = barBox(rows)
  if (spectrograms === undefined || first?.lanes === undefined || last?.lanes === undefined || bar === null)
    return
  for (const row of withLanes) {
    if (row.lanes === undefined) continue
    for (const flight of FLIGHTS) {
      const lane = spectrograms.lanes.find((one) => one.axis === row.name && one.flight === flight)
      drawLane(pen, model, spectrograms, lane, row.lanes[flight])
    }
    drawHzTicks(pen, spectrograms, row.lanes.a)
  }
  for (const flight of FLIGHTS) {
    drawLaneHeading(pen, flight, first.lanes[flight])
    drawTimeAxis(pen, last.lanes[flight], model.span)
  }
  drawColourBar(pen, spectrograms, bar)
}

function drawLaneHeading(pen: Pen, flight: FlightKey, box: Box): void {
  const { context, palette } = pen
  drawMark(pen, flight, box.x + 6, box.y - 12.5, palette.flight[flight], palette.background)
  const style = { size: TYPE.small, colour: palette.text }
  const text = fitEnd(context, `${flight.toUpperCase()} gyro spectrogram`, box.width - 18, style)
  drawText(context, text, box.x + 18, box.y - 8, style)
}

function drawLane(
  pen: Pen,
  model: ComparisonPicture,
  spectrograms: PictureSpectrograms,
  lane: SpectrogramLane | undefined,
  box: Box,
): void {
  const { context, palette } = pen
  context.fillStyle = palette.empty
  context.fillRect(box.x, box.y, box.width, box.height)
  if (lane === undefined || lane.frames === 0) {
    const style = { size: TYPE.small, colour: palette.muted, align: 'center' as const }
    const text = fitEnd(context, 'not in the log', box.width - 8, style)
    drawText(context, text, box.x + box.width / 2, box.y + box.height / 2 + 4, style)
  } else {
    const width = Math.round(box.width * pen.scale)
    const height = Math.round(box.height * pen.scale)
    const window = {
      t0_s: model.span.t0_s,
      t1_s: model.span.t1_s,
      f0_hz: spectrograms.fMin_hz,
      f1_hz: spectrograms.fMax_hz,
    }
    const levels = resampleLevels(lane, window, width, height)
    putPixels(
      pen,
      paintLevels(levels, width, height, spectrograms, COLOUR_MAPS[spectrograms.map], rgbOf(palette.empty)),
      width,
      height,
      box,
    )
  }
  // The frame carries the flight's colour: the lane's content can't.
  context.setLineDash([])
  context.strokeStyle = lane === undefined ? palette.frame : palette.flight[lane.flight]
  context.lineWidth = 1.5
  context.strokeRect(box.x - 0.75, box.y - 0.75, box.width + 1.5, box.height + 1.5)
}

function putPixels(pen: Pen, pixels: Uint8ClampedArray, width: number, height: number, box: Box): void {
  const image = pen.context.createImageData(width, height)
  image.data.set(pixels)
  pen.context.putImageData(image, Math.round(box.x * pen.scale), Math.round(box.y * pen.scale))
}

function drawHzTicks(pen: Pen, spectrograms: PictureSpectrograms, box: Box): void {
  const { fMin_hz, fMax_hz } = spectrograms
  const ticks = niceTicks(fMin_hz, fMax_hz, Math.max(2, Math.floor(box.height / 28)))
  const style = { size: TYPE.small, colour: pen.palette.muted, align: 'right' as const }
  ticks.values.forEach((value, index) => {
    const y = box.y + box.height - ((value - fMin_hz) / (fMax_hz - fMin_hz)) * box.height
    drawLine(pen, [box.x - 5, y], [box.x - 1, y], pen.palette.frame, 1)
    const baseline = Math.min(box.y + box.height, Math.max(box.y + 10, y + 4.5))
    const last = index === ticks.values.length - 1
    drawText(pen.context, `${ticks.labels[index]}${last ? ' Hz' : ''}`, box.x - 8, baseline, style)
  })
}

/** The colour bar with ticks below and what it means under them. */
function drawColourBar(pen: Pen, spectrograms: PictureSpectrograms, box: Box): void {
  const { context, palette } = pen
  const width = Math.round(box.width * pen.scale)
  const height = Math.round(box.height * pen.scale)
  const levels = new Float32Array(width * height)
  const { min_db, max_db } = spectrograms
  for (let x = 0; x < width; x++) {
    levels.fill(min_db + ((x + 0.5) / width) * (max_db - min_db), x * height, (x + 1) * height)
  }
  putPixels(
    pen,
    paintLevels(levels, width, height, spectrograms, COLOUR_MAPS[spectrograms.map]),
    width,
    height,
    box,
  )
  const ticks = niceTicks(min_db, max_db, Math.max(2, Math.floor(box.width / 60)))
  const style = { size: TYPE.small, colour: palette.muted }
  const bottom = box.y + box.height
  ticks.values.forEach((value, index) => {
    const x = box.x + ((value - min_db) / (max_db - min_db)) * box.width
    const label = ticks.labels[index] as string
    const size = textWidth(context, label, style)
    drawLine(pen, [x, bottom], [x, bottom + 4], palette.frame, 1)
    const left = Math.min(box.x + box.width - size, Math.max(box.x, x - size / 2))
    drawText(context, label, left, bottom + 17, style)
  })
  const text = fitEnd(context, `${spectrograms.unit}, one scale for A and B`, box.width, style)
  drawText(context, text, box.x, bottom + 34, style)
}
