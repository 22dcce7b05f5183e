import { AXES } from '../flight/axes.ts'
import { benjaminiHochberg, holm } from '../statistics/adjust.ts'
import type { MeasureKey, MeasureVerdict } from './comparison.ts'
import { covariance, type Covariance } from './covariance.ts'
import { evidenceOf, observations, type Asked, type Sides } from './gather.ts'
import { draftOf, verdictOf, type Draft } from './judge.ts'
import { MEASURE_IDS, VERDICT_MEASURES, type MeasureFacts } from './measures.ts'
import type { Match } from './pairs.ts'
import type { Floor } from './repeat.ts'
import type { Rules } from './rules.ts'
import type { StepEvidence } from './step-evidence.ts'

export interface Judged {
  readonly measures: readonly MeasureVerdict[]
  /** What different flying explains, per measure; null where too little is there to tell. */
  readonly adjust: ReadonlyMap<MeasureKey, Covariance | null>
}

/** Evidence, test and word of every measure that either flight has anything on. */
export function judgeAll(
  sides: Sides,
  matches: readonly Match[],
  steps: readonly StepEvidence[],
  rules: Rules,
  floors: ReadonlyMap<MeasureKey, Floor> | null,
): Judged {
  const adjust = new Map<MeasureKey, Covariance | null>()
  const drafts: Draft[] = []
  for (const axis of [...AXES, null]) {
    for (const id of MEASURE_IDS) {
      const facts: MeasureFacts = VERDICT_MEASURES[id]
      if ((facts.per === 'craft') !== (axis === null)) continue
      const key: MeasureKey = `${id}.${axis ?? 'craft'}`
      const headline = rules.isHeadline(id)
      const asked = { key, id, axis, headline, delta: rules.delta(id), floor: floors?.get(key) ?? null }
      if (facts.from === 'flights') {
        const step = steps.find((one) => one.id === id && one.axis === axis)
        if (step) drafts.push(draftOf({ ...step, ...declaredOf(asked) }))
        continue
      }
      const model = covariance([...observations(sides.a, key, 'a'), ...observations(sides.b, key, 'b')])
      adjust.set(key, model)
      drafts.push(draftOf(evidenceOf(asked, sides, matches, model)))
    }
  }
  const adjusted = new Map<Draft, number>()
  for (const headline of [true, false]) {
    const tested = drafts.filter((draft) => draft.evidence.headline === headline && isTested(draft))
    const found = tested.map(({ p }) => p!)
    const adjustedP = rules.adjust === 'none' ? found : (headline ? holm : benjaminiHochberg)(found)
    tested.forEach((draft, k) => adjusted.set(draft, adjustedP[k]!))
  }
  return {
    measures: drafts.map((draft) => verdictOf(draft, adjusted.get(draft) ?? null, rules.adjust)),
    adjust,
  }
}

const declaredOf = ({ headline, delta, floor }: Asked) => ({ headline, delta, floor })

/** Too few pairs are no test: they must not make the others pay for having looked. */
function isTested({ evidence, p }: Draft): boolean {
  return (
    p !== null && evidence.refusal === null && (evidence.whole !== null || evidence.differences.length >= 6)
  )
}
