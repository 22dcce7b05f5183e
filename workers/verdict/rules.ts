import type { CompareOptions } from './comparison.ts'
import { MEASURE_IDS, VERDICT_MEASURES, type MeasureId } from './measures.ts'

/** What is decided before looking: the headline measures, what difference matters, how looking at several is paid for. */
export interface Rules {
  readonly delta: (id: MeasureId) => number
  readonly isHeadline: (id: MeasureId) => boolean
  readonly adjust: 'Holm' | 'none'
}

/** Headline measures from the start. Few, so that one in many can't pass by chance. */
export const USUAL_HEADLINE: readonly MeasureId[] = MEASURE_IDS.filter((id) => VERDICT_MEASURES[id].headline)

/** The rules in force. @throws Error when a difference that matters is not positive. */
export function rulesOf({ deltas = {}, headline = USUAL_HEADLINE, adjust = 'Holm' }: CompareOptions): Rules {
  for (const [id, delta] of Object.entries(deltas))
    if (!(delta > 0)) throw new Error(`the smallest difference that matters must be positive: ${id} ${delta}`)
  const declared = new Set(headline)
  return {
    delta: (id) => deltas[id] ?? VERDICT_MEASURES[id].delta,
    isHeadline: (id) => declared.has(id),
    adjust,
  }
}
