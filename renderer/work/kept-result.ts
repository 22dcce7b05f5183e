import * as v from 'valibot'
import type { ComputedOf, ResultAsked } from '../../electron/desk/contract/results.ts'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import { Recent } from './recent.ts'
import type { KeptResult } from './results.worker.ts'
import { resultWorkers } from './workers.ts'

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
    recent.keep(key, kept.value, roughBytes(kept.value))
    return kept.value
  }
  const value = await compute()
  recent.keep(key, value, roughBytes(value))
  void keepAtDesk(asked, value)
  return value
}

const computedOf = ({ contentHash, reading }: ComputedOf): ComputedOf => ({ contentHash, reading })

async function fromDesk<T>(
  asked: ResultAsked,
  schema: v.GenericSchema<unknown, T>,
): Promise<{ value: T } | null> {
  const found = await resultWorkers.run<KeptResult>((worker) => worker.get(asked))
  if (!found) return null
  if ('problem' in found) throw new Problem(found.problem.code, found.problem.message)
  const parsed = v.safeParse(schema, found.value)
  return parsed.success ? { value: parsed.output } : null
}

async function keepAtDesk(asked: ResultAsked, value: unknown): Promise<void> {
  try {
    await resultWorkers.run((worker) => worker.keep(asked, value))
  } catch (error) {
    // What is not kept costs nothing but time when it is asked for again.
    if (!isProblem(error)) throw error
  }
}

/** About the memory that a result takes: bytes of its arrays, and some for everything else. */
export function roughBytes(value: unknown): number {
  if (ArrayBuffer.isView(value)) return value.byteLength
  if (typeof value === 'string') return 2 * value.length
  if (value === null || typeof value !== 'object') return 8
  return Object.values(value).reduce((sum: number, one) => sum + roughBytes(one), 16)
}
