import { AXES, type Axis } from '../flight/axes.ts'
import type { MeasureCell, PictureMeasure } from '../picture/model.ts'
import { formatFixed } from '../ticks/ticks.ts'
import type { Comparison as Verdict, MeasureVerdict } from '../verdict/comparison.ts'
import { MEASURE_IDS, VERDICT_MEASURES } from '../verdict/measures.ts'

/** What the verdict's numbers are of. */
export const OF_PAIRS = 'Like for like over both whole flights: medians of the pairs, 95 % interval of B − A'

/** The verdict in one line, and on how much it rests. */
export function headlinesOf({ verdict, pairs }: Verdict): string[] {
  const count = pairs.length === 1 ? '1 pair' : `${pairs.length} pairs`
  return [verdict.sentence, `Over both whole flights, ${count} of like manoeuvres.`]
}

/** The headline measures of the axes, as a table of the picture. */
export function verdictMeasures({ measures }: Verdict): PictureMeasure[] {
  return MEASURE_IDS.filter((id) => VERDICT_MEASURES[id].headline && VERDICT_MEASURES[id].per === 'axis').map(
    (id) => {
      const { label, unit, digits, good } = VERDICT_MEASURES[id]
      const own = measures.filter((measure) => measure.id === id)
      const cells: Partial<Record<Axis, MeasureCell>> = {}
      for (const axis of AXES) {
        const measure = own.find((one) => one.axis === axis)
        if (measure) cells[axis] = cellOf(measure)
      }
      return { label, of: OF_PAIRS, unit, digits, better: good, cells }
    },
  )
}

function cellOf({ a, b, effect, word, interval, pairs, reason }: MeasureVerdict): MeasureCell {
  const none = a === null && b === null && effect === null
  return {
    a,
    b,
    difference: effect,
    word,
    pairs,
    ...(interval && interval.low < interval.high
      ? { interval: { low: interval.low, high: interval.high } }
      : {}),
    ...(none && reason ? { reason } : {}),
  }
}

/** What the verdict does not rest on, in sentences. */
export function verdictLeavesOut({ unmatched, exclusions }: Verdict): string[] {
  const { shareA, shareB } = unmatched
  const lines: string[] = []
  if (shareA > 0 || shareB > 0)
    lines.push(`Without a like partner: ${percent(shareA)} of A's manoeuvres, ${percent(shareB)} of B's.`)
  for (const { what, share } of exclusions)
    lines.push(`${what.replace(/\.$/, '')} (${percent(share)} of the manoeuvres).`)
  return lines
}

const percent = (share: number): string => `${formatFixed(100 * share, 0)} %`
