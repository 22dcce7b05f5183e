/**
 * Shapes that cross the boundary between window and desk, as Valibot schemas: what is sent is checked on
 * arrival at both ends. The plain types of workers/ are checked against these at compile time (see the end).
 */
import * as v from 'valibot'
import { ROLES, type Assignment, type Role } from '../../../workers/columns/roles.ts'
import type { ClockReport, Inspection, LogColumn, Notice } from '../../../workers/log/log.ts'
import type { ActivityStrip } from '../../../workers/flight/activity-strip.ts'
import { PROBLEM_CODES } from '../../../workers/log/problems.ts'
import { UNITS, type UnitId } from '../../../workers/units/units.ts'

const count = v.pipe(v.number(), v.integer(), v.minValue(0))
/** A rate of a clock that stands still is NaN, which JSON writes as null. */
const rate = v.pipe(
  v.union([v.number(), v.nan(), v.null()]),
  v.transform((value) => value ?? NaN),
)
const finite = v.pipe(v.number(), v.finite())
export const flightIdSchema = v.pipe(v.number(), v.integer(), v.minValue(1))

export const roleSchema = v.picklist(ROLES as readonly [Role, ...Role[]])
export const unitIdSchema = v.picklist(Object.keys(UNITS) as [UnitId, ...UnitId[]])

export const assignmentSchema = v.object({
  role: roleSchema,
  column: count,
  name: v.string(),
  unit: unitIdSchema,
  sign: v.picklist([1, -1]),
  sure: v.picklist(['certain', 'likely', 'guess']),
  setBy: v.picklist(['program', 'memory', 'pilot']),
  how: v.string(),
})

export const noticeSchema = v.object({
  level: v.picklist(['info', 'caution', 'missing']),
  text: v.string(),
  cost: v.exactOptional(v.string()),
})

export const dialectSchema = v.object({
  format: v.exactOptional(v.picklist(['text', 'parquet', 'arrow'])),
  separator: v.picklist([',', ';', '\t', '|', ' ']),
  decimal: v.picklist(['.', ',']),
  headerLine: count,
  firstDataLine: count,
  compression: v.picklist(['none', 'gzip', 'zstd']),
})

export const logColumnSchema = v.object({
  index: count,
  name: v.string(),
  type: v.picklist(['f32', 'f64', 'text']),
  examples: v.array(v.string()),
  min: v.nullable(finite),
  max: v.nullable(finite),
})

export const preambleEntrySchema = v.object({ name: v.string(), value: v.string() })

export const inspectionSchema = v.object({
  fileName: v.string(),
  bytes: count,
  dialect: dialectSchema,
  preamble: v.array(preambleEntrySchema),
  headerKey: v.string(),
  columns: v.array(logColumnSchema),
  assignments: v.array(assignmentSchema),
  notices: v.array(noticeSchema),
})

export const clockReportSchema = v.object({
  rows: count,
  duration_s: finite,
  effectiveRate_hz: rate,
  nominalRate_hz: rate,
  wraps: count,
  duplicates: count,
  backward: count,
  gaps: count,
  longestGap_s: finite,
  missingFrames: count,
  unreadable: v.exactOptional(count),
  restarts: v.exactOptional(count),
  bursts: v.exactOptional(count),
  jitter: v.exactOptional(finite),
  drift: v.exactOptional(finite),
})

export const problemSchema = v.object({
  code: v.picklist(PROBLEM_CODES),
  message: v.string(),
  place: v.object({
    file: v.exactOptional(v.string()),
    line: v.exactOptional(count),
    column: v.exactOptional(count),
    columnName: v.exactOptional(v.string()),
  }),
})
export type ProblemData = v.InferOutput<typeof problemSchema>

/** A part of a log, in seconds since its first stamp on its mended clock. */
export const spanSchema = v.object({ t0_s: finite, t1_s: finite })

/** What a flight looks like at a glance: a few dozen equal steps of its time; null where nothing was logged. */
export const activitySchema = v.object({
  power_percent: v.nullable(v.array(v.nullable(finite))),
  powerFrom: v.picklist(['throttle', 'motors']),
  turn_dps: v.nullable(v.array(v.nullable(finite))),
})

/** Where a flight's log lies: known by no path (it was dropped), here, changed since, or missing. */
export const sourceStateSchema = v.picklist(['none', 'here', 'changed', 'missing'])

/** A flight as a line of the logbook. */
export const flightSummarySchema = v.object({
  id: flightIdSchema,
  name: v.string(),
  craft: v.string(),
  note: v.string(),
  fileName: v.string(),
  /** Milliseconds since 1970 UTC when the log says when it was flown, else null. */
  flownAt_ms: v.nullable(finite),
  indexedAt_ms: finite,
  duration_s: finite,
  rate_hz: rate,
  rows: count,
  /** The part of its log that the flight is; null for the whole. */
  span: v.nullable(spanSchema),
  activity: v.nullable(activitySchema),
  source: sourceStateSchema,
  rolesFound: v.array(roleSchema),
  /** True when a column's meaning or unit was assumed and nobody has confirmed it. */
  assumed: v.boolean(),
  notices: v.array(noticeSchema),
  demo: v.boolean(),
})
export type Activity = v.InferOutput<typeof activitySchema>
export type FlightSummary = v.InferOutput<typeof flightSummarySchema>

export const offeredKindSchema = v.picklist(['flight', 'short', 'whole'])

/** A flight's settings sheet, verbatim, and how it was come by. */
export const settingsSchema = v.object({
  name: v.pipe(v.string(), v.maxLength(4000)),
  text: v.pipe(v.string(), v.maxLength(200_000)),
  /** In a sentence; left out where the pilot gave it. */
  how: v.exactOptional(v.pipe(v.string(), v.maxLength(1000))),
})
export type SettingsText = v.InferOutput<typeof settingsSchema>

/** Everything about one flight but its samples, which go by bulk. */
export const flightDetailSchema = v.object({
  ...flightSummarySchema.entries,
  contentHash: v.string(),
  /** Names how the content is read at present: meanings, units, signs and rows. */
  reading: v.string(),
  bytes: count,
  dialect: dialectSchema,
  preamble: v.array(preambleEntrySchema),
  headerKey: v.string(),
  columns: v.array(logColumnSchema),
  assignments: v.array(assignmentSchema),
  clock: clockReportSchema,
  /** The log as a whole, of which the flight may be a part. */
  log: v.object({
    duration_s: finite,
    activity: v.nullable(activitySchema),
    /** The flights that were found in it. */
    spans: v.array(
      v.object({
        ...spanSchema.entries,
        kind: offeredKindSchema,
        how: v.string(),
        /** The flight of the logbook that is just this part. */
        flight: v.nullable(v.object({ flightId: flightIdSchema, name: v.string() })),
      }),
    ),
  }),
  settings: v.nullable(settingsSchema),
})
export type FlightDetail = v.InferOutput<typeof flightDetailSchema>

/** The demo flights are simulated on the first start; until then the logbook says how far that is. */
export const demoStateSchema = v.object({
  state: v.picklist(['none', 'making', 'ready', 'failed']),
  done: finite,
  message: v.string(),
})
export type DemoState = v.InferOutput<typeof demoStateSchema>

/** A file that was given to the desk and looked at, but not indexed yet. */
export const incomingSchema = v.object({
  incomingId: v.string(),
  inspection: inspectionSchema,
  /** The flight that this very file already is, found by its content. */
  known: v.nullable(v.object({ flightId: flightIdSchema, name: v.string() })),
  /** A settings sheet that lies beside it, which is kept with its flights unless that is declined. */
  settings: v.nullable(settingsSchema),
})
export type Incoming = v.InferOutput<typeof incomingSchema>

export const progressSchema = v.object({ phase: v.string(), done: finite })
export type Progress = v.InferOutput<typeof progressSchema>

/** Compile-time proof that the plain types and the schemas say the same. */
type Same<A, B> = [A] extends [B] ? true : never
export const SCHEMAS_MATCH_TYPES: [
  Same<v.InferOutput<typeof assignmentSchema>, Assignment>,
  Same<v.InferOutput<typeof noticeSchema>, Notice>,
  Same<v.InferOutput<typeof logColumnSchema>, LogColumn>,
  Same<v.InferOutput<typeof inspectionSchema>, Inspection>,
  Same<v.InferOutput<typeof clockReportSchema>, ClockReport>,
  Same<v.InferOutput<typeof activitySchema>, ActivityStrip>,
] = [true, true, true, true, true, true]
