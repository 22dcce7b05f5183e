/** How the logbook is asked for and given: a page of lines, and what the whole list is made of. */
import * as v from 'valibot'
import { demoStateSchema, flightIdSchema, flightSummarySchema } from './schemas.ts'

const count = v.pipe(v.number(), v.integer(), v.minValue(0))

/** The longest page that may be asked for. */
export const MOST_LINES = 500

const queryEntries = {
  /** Words, each of which must begin a word of name, craft, note, file name or settings. */
  search: v.optional(v.pipe(v.string(), v.maxLength(200)), ''),
  /** Only this craft's flights; '' for those without a name; null for all. */
  craft: v.optional(v.nullable(v.string()), null),
  /** 'noted': only flights with something to know about their log; 'clean': only those without. */
  health: v.optional(v.picklist(['any', 'clean', 'noted']), 'any'),
  group: v.optional(v.picklist(['none', 'craft', 'day', 'craft-day']), 'craft-day'),
  /** Inside each group. */
  sort: v.optional(v.picklist(['flown', 'name', 'craft', 'length', 'rate', 'health']), 'flown'),
  descending: v.optional(v.boolean(), false),
}

export const listRequestSchema = v.object({
  ...queryEntries,
  offset: v.optional(count, 0),
  limit: v.optional(v.pipe(count, v.maxValue(MOST_LINES)), 200),
  /** Flights whose lines are wanted wherever they stand: the chosen ones. */
  also: v.optional(v.pipe(v.array(flightIdSchema), v.maxLength(20)), []),
})
export type ListRequest = v.InferOutput<typeof listRequestSchema>

/** Where a flight stands in the list; null when it does not fit what is looked for. */
export const placeRequestSchema = v.object({ ...queryEntries, flightId: flightIdSchema })
export const placeSchema = v.object({ index: v.nullable(count) })
export type PlaceRequest = v.InferOutput<typeof placeRequestSchema>

export const flightGroupSchema = v.object({
  /** Null where crafts are not grouped; '' for flights without a craft's name. */
  craft: v.nullable(v.string()),
  /** ISO date; null where days are not grouped; '' where the day is not known. */
  day: v.nullable(v.string()),
  count,
})
export type FlightGroup = v.InferOutput<typeof flightGroupSchema>

export const logbookSchema = v.object({
  flights: v.array(flightSummarySchema),
  offset: count,
  /** Flights that fit the request, on all pages. */
  total: count,
  /** The groups of all pages, in order. */
  groups: v.array(flightGroupSchema),
  /** Flights in the logbook, whether they fit or not. */
  all: count,
  crafts: v.array(v.object({ craft: v.string(), count })),
  also: v.array(flightSummarySchema),
  demo: demoStateSchema,
})
export type Logbook = v.InferOutput<typeof logbookSchema>
