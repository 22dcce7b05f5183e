/** What every part of report.json is made of. */
import * as v from 'valibot'

export const finite = v.pipe(v.number(), v.finite())
export const count = v.pipe(v.number(), v.integer(), v.minValue(0))
export const axis = v.picklist(['roll', 'pitch', 'yaw'])

/** A number with its reason: exactly one of the two is null. */
export const measured = v.object({ value: v.nullable(finite), reason: v.nullable(v.string()) })

/** A result of an analysis with all that belongs to it; see workers/signal/result.ts. */
export const reportedResult = v.object({
  value: v.nullable(finite),
  unit: v.nullable(v.string()),
  interval: v.nullable(
    v.object({
      low: finite,
      high: finite,
      /** Probability that it holds the truth, as far as `covers` goes. */
      coverage: finite,
      covers: v.picklist(['sampling error only', 'sampling error and estimated bias']),
    }),
  ),
  /** Why there is no value; null when there is one. */
  reason: v.nullable(v.string()),
  method: v.object({ id: v.string(), version: count }),
  samples: count,
  segments: v.nullable(finite),
  cautions: v.array(v.string()),
  exclusions: v.array(v.object({ what: v.string(), share: finite })),
})
export type ReportedResult = v.InferOutput<typeof reportedResult>
