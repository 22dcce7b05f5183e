/** What the pilot put right about a flight's manoeuvres, as it is kept. */
import * as v from 'valibot'
import { MANOEUVRE_KINDS } from '../../../workers/manoeuvre/manoeuvre.ts'
import type { FlightDetail } from './schemas.ts'

export const editsSchema = v.array(
  v.object({
    id: v.string(),
    kind: v.exactOptional(v.picklist(MANOEUVRE_KINDS)),
    leaveOut: v.exactOptional(v.boolean()),
  }),
)

/** Under what the edits are kept: they belong to a flight's samples, to its log and, where it is a part of it, to that part. */
export function editsKey({ contentHash, span }: Pick<FlightDetail, 'contentHash' | 'span'>): string {
  return `manoeuvres/${contentHash}${span ? `/${span.t0_s}-${span.t1_s}` : ''}`
}
