import * as v from 'valibot'
import type { ComputedOf, ResultAsked } from '../../electron/desk/contract/results.ts'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { Recent } from './recent.ts'
import { resultFromText, resultText } from './result-text.ts'

export interface ResultOf<T> {
  readonly a: Pick<FlightDetail, 'contentHash' | 'reading'>
  readonly b: Pick<FlightDetail, 'contentHash' | 'reading'> | null
  /** What computes it, and its version: raised whenever the same input would give another result. */
  readonly method: string
  readonly version: number
  readonly parameters: ResultAsked['parameters']
  /** What a kept result must look like at least; anything else is computed anew. */
  readonly schema: v.GenericSchema<unknown, T>
}

const recent = new Recent<unknown>(64 * 1024 * 1024)
/** Longer results are not worth keeping: reading them takes as long as computing. */
const MOST_CHARACTERS = 12_000_000

/**
 * A result from memory, else from the desk, else computed - and then kept by both. It is kept under the content of the logs,
 * how they were read, method, version and parameters, so that a changed file or meaning never meets an old one; what
 * the desk returns is checked before it is believed.
 */
export async function keptOr<T>(of: ResultOf<T>, compute: () => Promise<T>): Promise<T> {
  const asked: ResultAsked = {
    a: computedOf(of.a),
    b: of.b && computedOf(of.b),
    method: of.method,
    version: of.version,
    parameters: of.parameters,
  }
  const key = JSON.stringify(asked)
  const known = recent.get(key)
  if (known !== undefined) return known as T
  const kept = await fromDesk(asked, of.schema)
  if (kept) {
    recent.keep(key, kept.value, kept.characters)
    return kept.value
  }
  const value = await compute()
  const text = resultText(value)
  recent.keep(key, value, text.length)
  if (text.length <= MOST_CHARACTERS) void keepAtDesk(asked, text)
  return value
}

const computedOf = ({ contentHash, reading }: ComputedOf): ComputedOf => ({ contentHash, reading })

async function fromDesk<T>(
  asked: ResultAsked,
  schema: v.GenericSchema<unknown, T>,
): Promise<{ value: T; characters: number } | null> {
  const { value: text } = await call('results.get', asked)
  if (text === null) return null
  const parsed = v.safeParse(schema, decoded(text))
  return parsed.success ? { value: parsed.output, characters: text.length } : null
}

/** Undefined for text that is damaged or was written by another version: no schema takes that. */
function decoded(text: string): unknown {
  try {
    return resultFromText(text)
  } catch (error) {
    if (error instanceof Error) return undefined
    throw error
  }
}

async function keepAtDesk(asked: ResultAsked, value: string): Promise<void> {
  try {
    await call('results.keep', { ...asked, value })
  } catch (error) {
    // A full disk or a desk that is closing costs nothing but time when it is asked for again.
    if (!isProblem(error)) throw error
  }
}
