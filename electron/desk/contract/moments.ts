/** How moments are marked, listed and changed: the calls and their shapes. */
import * as v from 'valibot'
import { LONGEST, MOST_STARS, MOST_TAGS, type Moment, type Place } from '../../../workers/moments/moment.ts'
import { flightIdSchema } from './schemas.ts'

const count = v.pipe(v.number(), v.integer(), v.minValue(0))
const finite = v.pipe(v.number(), v.finite())
const line = (longest: number) => v.pipe(v.string(), v.maxLength(longest))

/** The longest page that may be asked for. */
export const MOST_MOMENTS = 500

export const momentIdSchema = v.pipe(v.string(), v.regex(/^[0-9A-Za-z-]{1,64}$/, 'is no name of a moment'))

export const placeSchema = v.object({
  side: v.picklist(['a', 'b']),
  contentHash: v.pipe(v.string(), v.minLength(1), v.maxLength(128)),
  t0_s: finite,
  t1_s: v.nullable(finite),
  marked: v.boolean(),
})

const words = {
  tags: v.pipe(v.array(line(4 * LONGEST.tag)), v.maxLength(2 * MOST_TAGS)),
  note: line(LONGEST.note),
  stars: v.pipe(count, v.maxValue(MOST_STARS)),
  flyAgain: v.boolean(),
  whatToFly: line(LONGEST.whatToFly),
}
const places = v.pipe(v.array(placeSchema), v.minLength(1), v.maxLength(2))

export const momentSchema = v.object({ id: momentIdSchema, places, ...words })

/** What may be changed of a moment; what is left out stays. */
export const momentChangeSchema = v.object({
  places: v.exactOptional(places),
  tags: v.exactOptional(words.tags),
  note: v.exactOptional(words.note),
  stars: v.exactOptional(words.stars),
  flyAgain: v.exactOptional(words.flyAgain),
  whatToFly: v.exactOptional(words.whatToFly),
})
export type MomentChange = v.InferOutput<typeof momentChangeSchema>

/** A place with the flight that is there at present. */
export const foundPlaceSchema = v.object({
  ...placeSchema.entries,
  /** Null while no flight of that log is in the logbook. */
  flightId: v.nullable(flightIdSchema),
  /** As it is called, or was called when it was last in the logbook. */
  flightName: v.string(),
  craft: v.string(),
  flownAt_ms: v.nullable(finite),
  /** Where the flight begins in its log: the moment is at t0_s - flightStart_s of the flight's own time. */
  flightStart_s: finite,
  /** False where the flight was cut so that the moment lies outside of it. */
  inFlight: v.boolean(),
})
export type FoundPlace = v.InferOutput<typeof foundPlaceSchema>

export const listedMomentSchema = v.object({
  ...momentSchema.entries,
  places: v.array(foundPlaceSchema),
  createdAt_ms: finite,
  changedAt_ms: finite,
})
export type ListedMoment = v.InferOutput<typeof listedMomentSchema>

export const momentsRequestSchema = v.object({
  /** Words, each of which must begin a word of note, tags, what to fly, flight or craft. */
  search: v.optional(line(200), ''),
  /** Only moments of this craft; '' for flights without a craft's name; null for all. */
  craft: v.optional(v.nullable(v.string()), null),
  tag: v.optional(v.nullable(v.string()), null),
  /** Only those with at least so many stars. */
  stars: v.optional(words.stars, 0),
  flyAgain: v.optional(v.boolean(), false),
  sort: v.optional(v.picklist(['marked', 'flown', 'stars', 'changed']), 'marked'),
  descending: v.optional(v.boolean(), true),
  offset: v.optional(count, 0),
  limit: v.optional(v.pipe(count, v.maxValue(MOST_MOMENTS)), 200),
})
export type MomentsRequest = v.InferOutput<typeof momentsRequestSchema>

export const momentsPageSchema = v.object({
  moments: v.array(listedMomentSchema),
  offset: count,
  /** Moments that fit the request, on all pages. */
  total: count,
  /** Moments in the library, whether they fit or not. */
  all: count,
  crafts: v.array(v.object({ craft: v.string(), count })),
  tags: v.array(v.object({ tag: v.string(), count })),
})
export type MomentsPage = v.InferOutput<typeof momentsPageSchema>

const one = v.object({ moment: listedMomentSchema })
const named = v.object({ momentId: momentIdSchema })

export const MOMENT_CALLS = {
  'moments.list': { request: momentsRequestSchema, response: momentsPageSchema },
  /** All moments of these logs, for their timelines. */
  'moments.of': {
    request: v.object({ contentHashes: v.pipe(v.array(placeSchema.entries.contentHash), v.maxLength(8)) }),
    response: v.object({ moments: v.array(listedMomentSchema) }),
  },
  'moments.get': { request: named, response: one },
  'moments.add': { request: momentSchema, response: one },
  'moments.edit': { request: v.object({ ...named.entries, change: momentChangeSchema }), response: one },
  /** Takes a moment away; it can be brought back. */
  'moments.remove': { request: named, response: v.object({}) },
  'moments.restore': { request: named, response: one },
} as const

/** Compile-time proof that the plain types and the schemas say the same. */
type Same<A, B> = [A] extends [B] ? true : never
export const MOMENT_SCHEMAS_MATCH: [
  Same<v.InferOutput<typeof momentSchema>, Moment>,
  Same<v.InferOutput<typeof placeSchema>, Place>,
] = [true, true]
