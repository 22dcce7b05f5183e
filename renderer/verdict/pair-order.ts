import type { Comparison as Verdict, Pair } from '../../workers/verdict/comparison.ts'
import type { MeasureKey } from '../../workers/verdict/comparison.ts'
import { anchorOf } from '../../workers/verdict/pair-traces.ts'
import { VERDICT_MEASURES, type MeasureId } from '../../workers/verdict/measures.ts'

/** What the list of pairs can be sorted by. */
export const PAIR_SORTS = ['size', 'name', 'a', 'b', 'alike', 'measure'] as const
export type PairSort = (typeof PAIR_SORTS)[number]

export interface PairOrder {
  readonly by: PairSort
  readonly descending: boolean
}

/** Largest difference first. */
export const USUAL_ORDER: PairOrder = { by: 'size', descending: true }

/** What a pair is known by. */
export const pairKey = ({ a, b }: Pick<Pair, 'a' | 'b'>): string => `${a} ${b}`

/** A pair as a line of the list. */
export interface PairLine {
  readonly key: string
  readonly pair: Pair
  /** Where each is laid over the other, on its own flight's clock. */
  readonly a_s: number
  readonly b_s: number
  /** The measure that the list shows, of this pair: A, B and the adjusted difference; null where it does not show it. */
  readonly shown: {
    readonly key: MeasureKey
    readonly a: number
    readonly b: number
    readonly difference: number
  } | null
}

/** Every pair with the measure that the list shows, in order. Ties, and pairs without the measure, stay as they were. */
export function pairLines(
  { pairs, a, b }: Pick<Verdict, 'pairs' | 'a' | 'b'>,
  measure: MeasureId,
  { by, descending }: PairOrder,
): PairLine[] {
  const timesOf = ({ manoeuvres }: Verdict['a']) => new Map(manoeuvres.map((one) => [one.id, anchorOf(one)]))
  const [ofA, ofB] = [timesOf(a), timesOf(b)]
  const lines = pairs.map((pair): PairLine => ({
    key: pairKey(pair),
    pair,
    a_s: ofA.get(pair.a) ?? NaN,
    b_s: ofB.get(pair.b) ?? NaN,
    shown: shownOf(pair, measure),
  }))
  const sign = descending ? -1 : 1
  const compare: Record<PairSort, (x: PairLine, y: PairLine) => number> = {
    size: (x, y) => x.pair.size - y.pair.size,
    name: (x, y) => x.pair.name.localeCompare(y.pair.name),
    a: (x, y) => x.a_s - y.a_s,
    b: (x, y) => x.b_s - y.b_s,
    alike: (x, y) => x.pair.distance - y.pair.distance,
    measure: (x, y) => (x.shown?.difference ?? 0) - (y.shown?.difference ?? 0),
  }
  if (by !== 'measure') return lines.sort((x, y) => sign * compare[by](x, y))
  // What a pair does not show stands last, whichever way round.
  const [those, others] = [lines.filter(({ shown }) => shown), lines.filter(({ shown }) => !shown)]
  return [...those.sort((x, y) => sign * compare.measure(x, y)), ...others]
}

/** A manoeuvre on an axis shows one measure once; a catch shows it on each axis: then the largest difference is shown. */
function shownOf({ differences }: Pair, measure: MeasureId): PairLine['shown'] {
  const own = differences.filter(({ key }) => key.startsWith(`${measure}.`))
  if (own.length === 0) return null
  return own.reduce((most, one) => (Math.abs(one.difference) > Math.abs(most.difference) ? one : most))
}

/** Measures that any of the pairs shows, in their usual order. */
export function shownMeasures(pairs: readonly Pair[]): MeasureId[] {
  const seen = new Set(pairs.flatMap(({ differences }) => differences.map(({ key }) => key.split('.')[0])))
  return (Object.keys(VERDICT_MEASURES) as MeasureId[]).filter((id) => seen.has(id))
}
