import { formatFixed } from '../ticks/ticks.ts'
import type { ComparisonPicture, FlightKey, PictureFlight, PictureSetting } from './model.ts'
import { drawMark, FLIGHTS, MARGIN, type Pen, TYPE } from './pen.ts'
import { drawText, fitEnd, fitMiddle, linesFor, textWidth, wrapText } from './text.ts'

/** Most lines that each part may take; the rest ends in an ellipsis. */
const MOST = { title: 2, headline: 6, alignment: 2, settings: 3, note: 4 } as const
const LINE = 18
const TITLE_LINE = 28
const HEADLINE_LINE = 22
/** Room for the badges and facts, with the space above. */
const BADGES = 58
const BELOW = 12

/**
 * Title, headlines, the two flights' badges with their facts, the alignment, changed settings and the
 * pilot's note, from `top` downwards. Returns where the next part may begin.
 */
export function drawHeader(pen: Pen, model: ComparisonPicture, top: number): number {
  const width = model.width_px - 2 * MARGIN
  let y = top
  const lines = (
    text: string,
    most: number,
    size: number,
    bold: boolean,
    colour: string,
    step: number,
  ): void => {
    for (const line of wrapText(pen.context, text, width, most, { size, bold })) {
      y += step
      drawText(pen.context, line, MARGIN, y, { size, bold, colour })
    }
  }
  lines(model.title, MOST.title, TYPE.title, true, pen.palette.text, TITLE_LINE)
  if ((model.headlines ?? []).length > 0) y += 4
  for (const headline of (model.headlines ?? []).slice(0, MOST.headline)) {
    lines(headline, 1, TYPE.headline, true, pen.palette.text, HEADLINE_LINE)
  }
  y += 14
  const half = (width - 24) / 2
  FLIGHTS.forEach((flight, index) => {
    drawFlight(pen, flight, model[flight], MARGIN + index * (half + 24), y, half)
  })
  y += BADGES - 14
  lines(spanSentence(model), MOST.alignment, TYPE.small, false, pen.palette.muted, LINE)
  const settings = settingsSentence(model.settings ?? [])
  lines(settings, MOST.settings, TYPE.small, false, pen.palette.text, LINE)
  lines(model.note ?? '', MOST.note, TYPE.small, false, pen.palette.text, LINE)
  return y + BELOW
}

/** The height of the same parts without a canvas, from `top` to the next part. */
export function headerHeight(model: ComparisonPicture): number {
  const width = model.width_px - 2 * MARGIN
  const headlines = (model.headlines ?? []).slice(0, MOST.headline)
  const small = [
    linesFor(spanSentence(model), width, MOST.alignment, TYPE.small),
    linesFor(settingsSentence(model.settings ?? []), width, MOST.settings, TYPE.small),
    linesFor(model.note ?? '', width, MOST.note, TYPE.small),
  ]
  return (
    TITLE_LINE * linesFor(model.title, width, MOST.title, TYPE.title) +
    (headlines.length > 0 ? 4 : 0) +
    HEADLINE_LINE * headlines.reduce((sum, line) => sum + linesFor(line, width, 1, TYPE.headline), 0) +
    BADGES +
    LINE * small.reduce((sum, count) => sum + count, 0) +
    BELOW
  )
}

/** A badge with the mark and the label on the flight's colour, the name beside it, the facts below. */
function drawFlight(
  pen: Pen,
  flight: FlightKey,
  facts: PictureFlight,
  x: number,
  y: number,
  width: number,
): void {
  const { context, palette } = pen
  const labelStyle = { size: TYPE.headline, bold: true, colour: palette.onFlight[flight] }
  const label = fitEnd(context, facts.label, width * 0.4, labelStyle)
  const badge = 34 + textWidth(context, label, labelStyle)
  context.fillStyle = palette.flight[flight]
  context.fillRect(x, y, badge, 24)
  drawMark(pen, flight, x + 15, y + 12, palette.onFlight[flight], palette.flight[flight])
  drawText(context, label, x + 26, y + 17.5, labelStyle)
  const nameStyle = { size: TYPE.headline, bold: true, colour: palette.text }
  const nameX = x + badge + 10
  drawText(context, fitMiddle(context, facts.name, x + width - nameX, nameStyle), nameX, y + 17.5, nameStyle)
  const factStyle = { size: TYPE.small, colour: palette.muted }
  drawText(context, fitEnd(context, flightFacts(facts), width, factStyle), x, y + 41, factStyle)
}

/** '100.1 Hz log · 68.1 s · craft · date': what is short comes first, so that a long name can't push it out. */
export function flightFacts(facts: PictureFlight): string {
  const rate = `${formatFixed(facts.rate_hz, facts.rate_hz < 1000 ? 1 : 0)} Hz log`
  const parts = [rate, `${formatFixed(facts.duration_s, 1)} s long`, facts.date ?? '', facts.craft ?? '']
  return parts.filter((part) => part !== '').join(' · ')
}

/** What part of the flights is shown and how they were lined up. */
export function spanSentence(model: ComparisonPicture): string {
  const { t0_s, t1_s, clock } = model.span
  const digits = t1_s - t0_s < 10 ? 2 : 1
  const { samples } = model.span
  const counted = samples ? ` (${formatCount(samples.a)} samples of A, ${formatCount(samples.b)} of B)` : ''
  const shown = `Shown: ${formatFixed(t0_s, digits)} to ${formatFixed(t1_s, digits)} s, ${clock ?? 'time'}${counted}.`
  return `${shown} ${model.alignment}`
}

/** '12,345' */
const formatCount = (count: number): string => String(count).replace(/\B(?=(\d{3})+$)/g, ',')

/** 'Changed from A to B: P roll 45 → 52; D pitch (none) → 30.', or '' when nothing is known to differ. */
export function settingsSentence(settings: readonly PictureSetting[]): string {
  if (settings.length === 0) return ''
  const parts = settings.map(({ name, a, b }) => `${name} ${a ?? '(none)'} → ${b ?? '(none)'}`)
  return `Changed from A to B: ${parts.join('; ')}.`
}
