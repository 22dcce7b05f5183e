import type { Comparison } from '../verdict/comparison.ts'
import type { PairEvidence } from './field-card.ts'

/** What a verdict said of its headline measures, as the card says how often by. */
export function pairEvidence({ measures }: Comparison): PairEvidence[] {
  return measures
    .filter(({ headline }) => headline)
    .map(({ label, axis, word, pairs, pairsNeeded }) => {
      const name = label.replace(/, RMS$/, '').toLowerCase()
      return { measure: axis === null ? name : `${name} on ${axis}`, word, pairs, pairsNeeded }
    })
}
