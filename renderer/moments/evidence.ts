/** What the verdict of a pair said of its headline measures, kept for the field card. */
import * as v from 'valibot'
import type { Comparison as Verdict } from '../../workers/verdict/comparison.ts'
import type { PairEvidence } from '../../workers/fieldcard/field-card.ts'
import { pairEvidence } from '../../workers/fieldcard/pair-evidence.ts'
import { call } from '../desk/client.ts'

const evidenceSchema = v.array(
  v.object({
    measure: v.string(),
    word: v.string(),
    pairs: v.number(),
    pairsNeeded: v.nullable(v.number()),
  }),
)

/** Names a flight by its log and where it begins in it. */
interface FlightPlace {
  readonly contentHash: string
  readonly start_s: number
}

const keyOf = (a: FlightPlace, b: FlightPlace) =>
  `pairs needed/${[a, b].map(({ contentHash, start_s }) => `${contentHash}@${start_s.toFixed(2)}`).join('/')}`

/** Keeps what a verdict said of a pair. */
export async function keepEvidence(a: FlightPlace, b: FlightPlace, verdict: Verdict): Promise<void> {
  await call('kept.set', { key: keyOf(a, b), value: JSON.stringify(pairEvidence(verdict)) })
}

/** What the verdict of a pair said when it was last computed; null when it never was. */
export async function evidenceOf(a: FlightPlace, b: FlightPlace): Promise<PairEvidence[] | null> {
  const { value } = await call('kept.get', { key: keyOf(a, b) })
  if (value === null) return null
  const parsed = v.safeParse(evidenceSchema, JSON.parse(value))
  return parsed.success ? parsed.output : null
}
