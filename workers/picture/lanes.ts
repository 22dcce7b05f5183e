import { COLOUR_MAPS } from '../colour/colour-maps.ts'
import { paintLevels, rgbOf } from '../colour/paint-levels.ts'
import { resampleLevels } from '../colour/resample-levels.ts'
import { formatFixed, niceTicks } from '../ticks/ticks.ts'
import type { Layout } from './layout.ts'
import type { ComparisonPicture, FlightKey, PictureSpectrograms, SpectrogramLane } from './model.ts'
import { type Box, drawLine, drawMark, FLIGHTS, MARGIN, type Pen, TYPE } from './pen.ts'
import { drawText, firstThatFits, fitEnd, plainLine, textWidth } from './text.ts'

/** Draws all spectrograms with their headings, frequency ticks and the common colour bar. */
export function drawLanes(pen: Pen, model: ComparisonPicture, layout: Layout): void {
  const { spectrograms } = model
  if (spectrograms === undefined || layout.bar === null) return
  let headed = layout.barInLine
  for (const { name, lanes } of layout.rows) {
    if (lanes === undefined) continue
    for (const flight of FLIGHTS) {
      const lane = spectrograms.lanes.find((one) => one.axis === name && one.flight === flight)
      drawLane(pen, model, spectrograms, flight, lane, lanes[flight])
      if (!headed) drawLaneHeading(pen, flight, lanes[flight])
    }
    if (layout.barInLine) drawLaneName(pen, lanes.a)
    headed = true
    drawHzTicks(pen, spectrograms, lanes.a)
  }
  drawColourBar(pen, spectrograms, layout.bar, layout.barInLine)
}

/** Above the first spectrograms where these stand right of the curves. */
function drawLaneHeading(pen: Pen, flight: FlightKey, box: Box): void {
  const { context, palette } = pen
  drawMark(pen, flight, box.x + 6, box.y - 12.5, palette.flight[flight], palette.background)
  const style = { size: TYPE.small, colour: palette.text }
  const text = fitEnd(context, `${flight.toUpperCase()} gyro spectrogram`, box.width - 18, style)
  drawText(context, text, box.x + 18, box.y - 8, style)
}

/** Left of the spectrograms where these stand below the curves. */
function drawLaneName(pen: Pen, box: Box): void {
  const style = { size: TYPE.small, colour: pen.palette.muted }
  drawText(pen.context, 'Gyro', MARGIN, box.y + 12, style)
  drawText(pen.context, 'spectrogram', MARGIN, box.y + 28, style)
}

function drawLane(
  pen: Pen,
  model: ComparisonPicture,
  spectrograms: PictureSpectrograms,
  flight: FlightKey,
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
    drawUnrecorded(pen, spectrograms, lane, box)
  }
  // The frame carries the flight's colour: the lane's content can't.
  context.setLineDash([])
  context.strokeStyle = palette.flight[flight]
  context.lineWidth = 1.5
  context.strokeRect(box.x - 0.75, box.y - 0.75, box.width + 1.5, box.height + 1.5)
}

/** Says where the log's own rate ends, when that leaves room for a line. */
function drawUnrecorded(pen: Pen, spectrograms: PictureSpectrograms, lane: SpectrogramLane, box: Box): void {
  const { fMin_hz, fMax_hz } = spectrograms
  const last_hz = lane.f_hz[lane.bins - 1] ?? fMax_hz
  const empty_px = ((fMax_hz - last_hz) / (fMax_hz - fMin_hz)) * box.height
  if (empty_px < 24 || last_hz <= fMin_hz) return
  const style = { size: TYPE.small, colour: pen.palette.muted, align: 'center' as const }
  const text = fitEnd(pen.context, `above ${formatFixed(last_hz, 0)} Hz: not recorded`, box.width - 8, style)
  drawText(pen.context, text, box.x + box.width / 2, box.y + empty_px / 2 + 4, style)
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

/** The colour bar; its numbers and meaning below it, or all in one line. */
function drawColourBar(pen: Pen, spectrograms: PictureSpectrograms, box: Box, inLine: boolean): void {
  const width = Math.round(box.width * pen.scale)
  const height = Math.round(box.height * pen.scale)
  const levels = new Float32Array(width * height)
  const { min_db, max_db } = spectrograms
  for (let x = 0; x < width; x++) {
    levels.fill(min_db + ((x + 0.5) / width) * (max_db - min_db), x * height, (x + 1) * height)
  }
  const pixels = paintLevels(levels, width, height, spectrograms, COLOUR_MAPS[spectrograms.map])
  putPixels(pen, pixels, width, height, box)
  const style = { size: TYPE.small, colour: pen.palette.muted }
  const meanings = meaningsOf(spectrograms)
  const bottom = box.y + box.height
  if (inLine) {
    const right = { ...style, align: 'right' as const }
    const low = formatFixed(min_db, 0)
    drawText(pen.context, low, box.x - 6, bottom - 1, right)
    drawText(pen.context, formatFixed(max_db, 0), box.x + box.width + 6, bottom - 1, style)
    const end = box.x - 16 - textWidth(pen.context, low, style)
    drawText(pen.context, firstThatFits(pen.context, meanings, end - MARGIN, style), end, bottom - 1, right)
  } else {
    drawBarTicks(pen, spectrograms, box)
    drawText(pen.context, firstThatFits(pen.context, meanings, box.width, style), box.x, bottom + 34, style)
  }
}

/** What the colours mean, the fullest wording first. */
function meaningsOf(spectrograms: PictureSpectrograms): string[] {
  const unit = plainLine(spectrograms.unit)
  const gaps = spectrograms.lanes.some((lane) => lane.level_db.some((level) => level !== level))
  if (!gaps) return [`${unit}, one scale for A and B`]
  return [`${unit}, one scale for A and B; blank: a gap in the log`, `${unit}, same for A and B; blank: gap`]
}

function drawBarTicks(pen: Pen, spectrograms: PictureSpectrograms, box: Box): void {
  const { min_db, max_db } = spectrograms
  const ticks = niceTicks(min_db, max_db, Math.max(2, Math.floor(box.width / 60)))
  const style = { size: TYPE.small, colour: pen.palette.muted }
  const bottom = box.y + box.height
  ticks.values.forEach((value, index) => {
    const x = box.x + ((value - min_db) / (max_db - min_db)) * box.width
    const label = ticks.labels[index] as string
    const size = textWidth(pen.context, label, style)
    drawLine(pen, [x, bottom], [x, bottom + 4], pen.palette.frame, 1)
    const left = Math.min(box.x + box.width - size, Math.max(box.x, x - size / 2))
    drawText(pen.context, label, left, bottom + 17, style)
  })
}
