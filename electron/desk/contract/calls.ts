/**
 * The one contract between window and desk.
 *
 * Small calls:   POST /desk/call/<name>     JSON in, `{ok: true, value}` or `{ok: false, problem}` out.
 * Long calls:    POST /desk/stream/<name>   JSON in, lines of JSON out: progress..., then value or problem.
 * A file's way in: POST /desk/files?name=   the file's bytes in, the same lines out, ending in an Incoming.
 * Columns:       GET /bulk/flight/<id>/column/<index>   little-endian numbers as they lie in the column file.
 * Some rows:     GET /bulk/flight/<id>/sample/<index>, /bulk/incoming/<id>/sample/<index>   64-bit numbers.
 */
import * as v from 'valibot'
import {
  assignmentSchema,
  flightDetailSchema,
  flightIdSchema,
  flightSummarySchema,
  incomingSchema,
  problemSchema,
  progressSchema,
  settingsSchema,
  spanSchema,
} from './schemas.ts'
import { CHANGE_CALLS } from './changes.ts'
import { ARCHIVE_CALLS, ARCHIVE_STREAMS } from './archives.ts'
import { foldersSchema } from './folders.ts'
import { listRequestSchema, logbookSchema, placeRequestSchema, placeSchema } from './listing.ts'
import { RESULT_CALLS } from './results.ts'
import { MOMENT_CALLS } from './moments.ts'
import { REPEAT_CALLS } from './repeats.ts'

const nothing = v.object({})
const text = v.pipe(v.string(), v.maxLength(4000))

export const CALLS = {
  'logbook.list': { request: listRequestSchema, response: logbookSchema },
  'logbook.place': { request: placeRequestSchema, response: placeSchema },
  /** The flight before this one of the same craft. */
  'flight.previous': {
    request: v.object({ flightId: flightIdSchema }),
    response: v.object({ flight: v.nullable(flightSummarySchema) }),
  },
  'flight.get': { request: v.object({ flightId: flightIdSchema }), response: flightDetailSchema },
  'flight.assign': {
    request: v.object({ flightId: flightIdSchema, assignments: v.array(assignmentSchema) }),
    response: flightDetailSchema,
  },
  /** Makes a flight another part of its log, or the whole of it. */
  'flight.cut': {
    request: v.object({ flightId: flightIdSchema, span: v.nullable(spanSchema) }),
    response: flightDetailSchema,
  },
  /** Adds a part of a flight's log as a flight of its own. */
  'flight.split': {
    request: v.object({ flightId: flightIdSchema, span: spanSchema }),
    response: flightDetailSchema,
  },
  'flight.edit': {
    request: v.object({
      flightId: flightIdSchema,
      name: v.exactOptional(text),
      craft: v.exactOptional(text),
      note: v.exactOptional(text),
      settings: v.exactOptional(v.nullable(settingsSchema)),
    }),
    response: flightDetailSchema,
  },
  'flight.remove': { request: v.object({ flightId: flightIdSchema }), response: nothing },
  /** Brings back a flight that was removed since the program started. */
  'flight.restore': { request: v.object({ flightId: flightIdSchema }), response: flightDetailSchema },
  'incoming.discard': { request: v.object({ incomingId: v.string() }), response: nothing },
  'folders.list': { request: nothing, response: foldersSchema },
  'folders.watch': { request: v.object({ path: text }), response: foldersSchema },
  /** Stops watching a folder; its flights stay. */
  'folders.forget': { request: v.object({ path: text }), response: foldersSchema },
  /** Ends the look through a folder that is under way. */
  'folders.stop': { request: v.object({ path: text }), response: foldersSchema },
  'folders.look': { request: v.object({ path: text }), response: foldersSchema },
  ...MOMENT_CALLS,
  ...CHANGE_CALLS,
  ...RESULT_CALLS,
  ...REPEAT_CALLS,
  ...ARCHIVE_CALLS,
  'kept.get': { request: v.object({ key: text }), response: v.object({ value: v.nullable(v.string()) }) },
  'kept.set': {
    request: v.object({ key: text, value: v.pipe(v.string(), v.maxLength(200_000)) }),
    response: nothing,
  },
} as const

export const STREAMS = {
  /** Looks at a file by its path (given on the command line), as /desk/files does for one that was dropped. */
  'incoming.open': { request: v.object({ path: v.string() }), response: incomingSchema },
  'incoming.index': {
    request: v.object({
      incomingId: v.string(),
      assignments: v.nullable(v.array(assignmentSchema)),
      /** The settings to keep with the flights; null for none; left out, those that lie beside the log. */
      settings: v.exactOptional(v.nullable(settingsSchema)),
    }),
    /** The first flight of the file, and how many there are. */
    response: v.object({ flight: flightDetailSchema, flights: v.number() }),
  },
  ...ARCHIVE_STREAMS,
  /** Never ends by itself: a line whenever the logbook has changed. */
  'logbook.watch': { request: nothing, response: nothing },
} as const

export type CallName = keyof typeof CALLS
export type CallRequest<N extends CallName> = v.InferInput<(typeof CALLS)[N]['request']>
/** A request as it stands at the desk: what was left out is filled in. */
export type CallAsked<N extends CallName> = v.InferOutput<(typeof CALLS)[N]['request']>
export type CallResponse<N extends CallName> = v.InferOutput<(typeof CALLS)[N]['response']>
export type StreamName = keyof typeof STREAMS
export type StreamRequest<N extends StreamName> = v.InferInput<(typeof STREAMS)[N]['request']>
export type StreamResponse<N extends StreamName> = v.InferOutput<(typeof STREAMS)[N]['response']>

export const PATHS = {
  call: '/desk/call/',
  stream: '/desk/stream/',
  files: '/desk/files',
  bulk: '/bulk/flight/',
} as const

/** The address of one column's samples. `version` keeps caches honest: it is the content's hash. */
export function columnPath(flightId: number, column: number, version: string): string {
  return `${PATHS.bulk}${flightId}/column/${column}?v=${encodeURIComponent(version.slice(0, 16))}`
}

/** The address of one column's stored extremes, block by block; of the clock, the blocks' first stamps. */
export function levelPath(flightId: number, column: number, version: string): string {
  return `${PATHS.bulk}${flightId}/level/${column}?v=${encodeURIComponent(version.slice(0, 16))}`
}

/** The address of some rows of a column, as 64-bit numbers: of a flight, or of a file that is not indexed yet. */
export function samplePath(of: { flightId: number } | { incomingId: string }, column: number): string {
  return 'flightId' in of
    ? `${PATHS.bulk}${of.flightId}/sample/${column}`
    : `/bulk/incoming/${of.incomingId}/sample/${column}`
}

export const callReplySchema = v.variant('ok', [
  v.object({ ok: v.literal(true), value: v.unknown() }),
  v.object({ ok: v.literal(false), problem: problemSchema }),
])

export const streamLineSchema = v.variant('line', [
  v.object({ line: v.literal('progress'), progress: progressSchema }),
  v.object({ line: v.literal('value'), value: v.unknown() }),
  v.object({ line: v.literal('problem'), problem: problemSchema }),
])
export type StreamLine = v.InferOutput<typeof streamLineSchema>
