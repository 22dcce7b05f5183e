/** The verdict on a pair, kept so that opening the same flights again shows it at once. */
import * as v from 'valibot'
import { COMPARISON_METHOD } from '../../workers/verdict/compare-flights.ts'
import type { Comparison, CompareOptions } from '../../workers/verdict/comparison.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { keptOr } from '../work/kept-result.ts'

const list = v.array(v.looseObject({}))
/** Enough that what is kept is of the kind that the screens show. */
export const keptVerdictSchema = v.looseObject({
  verdict: v.looseObject({ word: v.string(), sentence: v.string() }),
  measures: v.array(
    v.looseObject({ key: v.string(), word: v.string(), reason: v.string(), cautions: v.array(v.string()) }),
  ),
  pairs: list,
  balance: list,
  reading: list,
  unmatched: v.looseObject({ a: list, b: list }),
  cautions: v.array(v.string()),
  notCompared: list,
  adjustment: v.string(),
})

/** Longer edits than this are not worth keeping a result for. */
const MOST_CHARACTERS = 20_000

/** @param choices what the pilot decided: another choice is another verdict */
export function verdictOr(
  a: LoadedFlight,
  b: LoadedFlight,
  choices: Pick<CompareOptions, 'edits' | 'deltas' | 'headline' | 'adjust'> & { readonly repeat: unknown },
  compute: () => Promise<Comparison>,
): Promise<Comparison> {
  const text = JSON.stringify(choices)
  if (text.length > MOST_CHARACTERS) return compute()
  return keptOr(
    {
      a: a.detail,
      b: b.detail,
      method: COMPARISON_METHOD.id,
      version: COMPARISON_METHOD.version,
      parameters: { choices: text },
      schema: keptVerdictSchema as unknown as v.GenericSchema<unknown, Comparison>,
    },
    compute,
  )
}
