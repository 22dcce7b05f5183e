import type { Comparison as Verdict } from '../../workers/verdict/comparison.ts'
import { REPEAT_METHOD } from '../../workers/verdict/repeat.ts'
import type { Report } from './format.ts'

/** The verdict as the report carries it: everything but the single manoeuvres and their fits. */
export function verdictReport(found: Verdict, repeatFile: string | null): Report['verdict'] {
  return {
    ...found.verdict,
    reading: found.reading.map(({ sentence, standing, caution }) => ({ sentence, standing, caution })),
    pairs: found.pairs.length,
    unmatched: { a: found.unmatched.shareA, b: found.unmatched.shareB },
    measures: found.measures.map((measure) => ({
      key: measure.key,
      label: measure.label,
      axis: measure.axis,
      unit: measure.unit,
      headline: measure.headline,
      from: measure.from,
      a: measure.a,
      b: measure.b,
      effect: measure.effect,
      interval: measure.interval,
      p: measure.p,
      adjustedP: measure.adjustedP,
      adjustment: measure.adjustment,
      delta: measure.delta,
      floor: measure.floor,
      floorRange: measure.floorRange && { ...measure.floorRange },
      word: measure.word,
      reason: measure.reason,
      pairs: measure.pairs,
      pairsNeeded: measure.pairsNeeded,
      cautions: [...measure.cautions],
    })),
    balance: found.balance.map(({ axis, input, before, after }) => ({
      axis,
      input,
      before: finiteOrNull(before.standardisedDifference),
      after: after && finiteOrNull(after.standardisedDifference),
    })),
    notCompared: found.notCompared.map(({ input, reason }) => ({ input, reason })),
    repeat: found.repeat && { ...found.repeat, file: repeatFile ?? '', method: { ...REPEAT_METHOD } },
    cautions: [...found.cautions],
    method: { ...found.method },
  }
}

const finiteOrNull = (value: number) => (Number.isFinite(value) ? value : null)
