/** Computed results that the desk keeps: text that only the window understands, under what it was computed of and by. */
import * as v from 'valibot'

const text = v.pipe(v.string(), v.maxLength(200))

/** A flight as it was computed of: its log's content, and how that was read. */
export const computedOfSchema = v.object({ contentHash: text, reading: text })
export type ComputedOf = v.InferOutput<typeof computedOfSchema>

const keyEntries = {
  a: computedOfSchema,
  /** The other flight of a pair; null for a result of one. */
  b: v.nullable(computedOfSchema),
  method: text,
  version: v.pipe(v.number(), v.integer(), v.minValue(0)),
  parameters: v.record(
    text,
    v.union([v.pipe(v.string(), v.maxLength(20_000)), v.number(), v.boolean(), v.null()]),
  ),
}

export const RESULT_CALLS = {
  'results.get': {
    request: v.object(keyEntries),
    response: v.object({ value: v.nullable(v.string()) }),
  },
  /** Keeps a result, unless its flight is gone. */
  'results.keep': {
    request: v.object({ ...keyEntries, value: v.pipe(v.string(), v.maxLength(12_000_000)) }),
    response: v.object({}),
  },
} as const
export type ResultAsked = v.InferOutput<(typeof RESULT_CALLS)['results.get']['request']>
