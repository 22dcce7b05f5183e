import { formatFixed, formatSigned } from '../../workers/ticks/ticks.ts'
import type { MeasureKey, MeasureVerdict } from '../../workers/verdict/comparison.ts'

/** "−18.0 [−26.0, −9.0] deg/s" */
export function effectText({ effect, interval, digits, unit }: MeasureVerdict): string {
  if (effect === null) return '–'
  const range = interval
    ? ` [${formatFixed(interval.low, digits)}, ${formatFixed(interval.high, digits)}]`
    : ''
  return `${formatSigned(effect, digits)}${range} ${unit}`.trim()
}

/** "3.1 [0.8, 5.4]": what the same settings differ by, with that difference's own interval. */
export function floorText({ floor, floorRange, digits }: MeasureVerdict): string {
  if (floor === null) return '–'
  // Verdicts that were kept before the interval was have none.
  const range = floorRange
    ? ` [${formatFixed(floorRange.low, digits)}, ${formatFixed(floorRange.high, digits)}]`
    : ''
  return `${formatFixed(floor, digits)}${range}`
}

export function pairsText({ pairs, pairsNeeded, from }: MeasureVerdict): string {
  if (from === 'flights') return 'whole flights'
  return pairsNeeded === null ? String(pairs) : `${pairs} of about ${pairsNeeded}`
}

/** Where a measure's row stands in the document. */
export const rowId = (key: MeasureKey): string => `measure-${key}`

/** The interval plots' common reach in units of what matters: whole, 3 to 6, so that a few wide ones
 * do not squeeze the rest. */
export function commonReach(measures: readonly MeasureVerdict[]): number {
  const ends = measures.flatMap(({ interval, delta }) =>
    interval ? [Math.max(Math.abs(interval.low), Math.abs(interval.high)) / delta] : [],
  )
  return Math.min(6, Math.max(3, Math.ceil(Math.max(0, ...ends))))
}

/** A word as a class name. */
export const wordClass = (word: string): string => word.replaceAll(/[^a-z]+/g, '-')
