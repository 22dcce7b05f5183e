/** Flights that may repeat the settings of one of the two that are compared. */
import * as v from 'valibot'
import { flightIdSchema, flightSummarySchema } from './schemas.ts'

const sideSchema = v.picklist(['a', 'b'])

export const repeatOfferSchema = v.object({
  flight: flightSummarySchema,
  /** Whose craft it has, and whose settings by name and value. */
  sameAs: v.array(sideSchema),
  sameCraft: v.boolean(),
})
export type RepeatOffer = v.InferOutput<typeof repeatOfferSchema>

export const REPEAT_CALLS = {
  /** Any flight may be chosen: equal settings sheets come first, then the same craft, then the rest, newest first. */
  'flight.repeats': {
    request: v.object({
      a: flightIdSchema,
      b: flightIdSchema,
      /** As in the logbook's search; '' for all. */
      search: v.pipe(v.string(), v.maxLength(200)),
    }),
    response: v.object({ offers: v.array(repeatOfferSchema) }),
  },
} as const
