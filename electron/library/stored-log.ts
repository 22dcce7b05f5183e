import * as v from 'valibot'
import type { ReadLog } from '../../workers/log/log.ts'
import { clockReportSchema, inspectionSchema } from '../desk/contract/schemas.ts'

const count = v.pipe(v.number(), v.integer(), v.minValue(0))

const flightSpanSchema = v.object({
  from: count,
  to: count,
  start_s: v.number(),
  duration_s: v.number(),
  kind: v.picklist(['flight', 'short', 'whole']),
  cycle: count,
  how: v.string(),
})

/** What stands in the `log` column of a file: a ReadLog as JSON, checked on reading. */
const storedLogSchema = v.object({
  ...inspectionSchema.entries,
  rows: count,
  contentHash: v.string(),
  clock: clockReportSchema,
  layout: v.object({
    format: v.literal(1),
    rows: count,
    groupRows: count,
    columns: v.array(
      v.object({
        index: count,
        type: v.picklist(['f32', 'f64']),
        origin: v.exactOptional(v.string()),
        setAside: v.exactOptional(v.literal(true)),
      }),
    ),
    level: v.exactOptional(
      v.object({ block: v.pipe(count, v.minValue(1)), at: count, firstsAt: v.exactOptional(count) }),
    ),
  }),
  restarts: v.array(count),
  flights: v.exactOptional(v.array(flightSpanSchema)),
})

/** @throws when the stored text does not fit: the library was damaged, or a migration was forgotten. */
export function parseStoredLog(json: string): ReadLog {
  return v.parse(storedLogSchema, JSON.parse(json))
}
