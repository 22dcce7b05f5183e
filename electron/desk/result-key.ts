import type { ResultKey } from '../library/results.ts'
import type { ResultAsked } from './contract/results.ts'

/** A result of a pair is kept with A; B stands among its parameters, by content and reading as A does. */
export function resultKey({ a, b, method, version, parameters }: ResultAsked): ResultKey {
  return {
    ...a,
    method,
    version,
    parameters: b ? { ...parameters, 'other flight': `${b.contentHash} ${b.reading}` } : parameters,
  }
}
