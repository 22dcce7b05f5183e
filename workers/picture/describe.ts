import { AXES } from '../flight/axes.ts'
import { formatFixed } from '../ticks/ticks.ts'
import { flightFacts, settingsSentence, spanSentence } from './header.ts'
import type { ComparisonPicture, MeasureCell, PictureFlight, PictureMeasure } from './model.ts'
import { differenceText, evidenceOf, shownAxes } from './table.ts'
import { plainLine } from './text.ts'

/**
 * The picture in words: for the PNG's description, for screen readers and for pasting below the picture.
 * Lines end with a line feed; every given text is one line of it.
 */
export function describeComparison(model: ComparisonPicture): string {
  const lines = [
    model.title,
    ...(model.headlines ?? []),
    flightLine(model.a),
    flightLine(model.b),
    spanSentence(model),
    settingsSentence(model.settings ?? []),
    model.note ?? '',
    ...[...Map.groupBy(model.measures, (measure) => measure.of ?? '')].flatMap(([of, measures]) => [
      of === '' ? '' : `${of}:`,
      ...measures.flatMap((measure) => shownAxes(model).map((axis) => measureLine(measure, axis))),
    ]),
    ...model.notices.map((notice) => notice.text),
    ...(model.footer.leftOut.length > 0 ? [`Left out: ${model.footer.leftOut.join(' ')}`] : []),
    model.footer.care ?? '',
    `${model.footer.program}. ${model.footer.caution}`,
  ]
  return lines
    .map(plainLine)
    .filter((line) => line !== '')
    .join('\n')
}

function flightLine(flight: PictureFlight): string {
  return `${flight.label}: ${flight.name === '' ? '' : `${flight.name}, `}${flightFacts(flight)}`
}

/** 'Roll, tracking error, RMS: A 25.0 deg/s, B 22.1 deg/s, B - A −2.9 (−12 %), better' */
function measureLine(measure: PictureMeasure, axis: (typeof AXES)[number]): string {
  const cell: MeasureCell = measure.cells[axis] ?? { a: null, b: null, difference: null }
  const number = (value: number | null): string =>
    value === null ? '–' : `${formatFixed(value, measure.digits)} ${measure.unit}`
  const parts = [`A ${number(cell.a)}`, `B ${number(cell.b)}`, `B − A ${differenceText(measure, cell)}`]
  const evidence = evidenceOf(cell, measure.digits)
  if (evidence !== '') parts.push(evidence)
  if (cell.reason !== undefined) parts.push(cell.reason)
  return `${axis}, ${measure.label}: ${parts.join(', ')}`
}
