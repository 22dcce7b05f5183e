/**
 * The shape of report.json, format 1. It is checked before it is written, so that a reader can rely on it.
 *
 * Rules for readers: unknown fields may be added within a format; a field's meaning or unit never changes without a
 * new format number. Every number carries its unit in its name or in a `unit` beside it. A figure that can't be
 * given is null, and `reason` beside it says why in a sentence.
 */
import * as v from 'valibot'
import {
  roleSchema,
  clockReportSchema,
  dialectSchema,
  noticeSchema,
  unitIdSchema,
} from '../desk/contract/schemas.ts'

export const REPORT_FORMAT = 1

const finite = v.pipe(v.number(), v.finite())
const count = v.pipe(v.number(), v.integer(), v.minValue(0))
const axis = v.picklist(['roll', 'pitch', 'yaw'])

/** A number with its reason: exactly one of the two is null. */
const measured = v.object({ value: v.nullable(finite), reason: v.nullable(v.string()) })

/** What a column was taken to mean, and how that was decided. */
const column = v.object({
  role: roleSchema,
  /** Number of the column in the file, from 0, and its name there. */
  column: count,
  name: v.string(),
  unit: unitIdSchema,
  /** The unit as people write it. */
  unitLabel: v.string(),
  sign: v.picklist([1, -1]),
  sure: v.picklist(['certain', 'likely', 'guess']),
  how: v.string(),
})

/** One axis of one flight over its whole length. */
const wholeAxis = v.object({
  axis,
  gyroRms_dps: measured,
  trackingErrorRms_dps: measured,
  lag_ms: measured,
  /** Frequency of the highest bin of the gyro's Welch density (Hann, 256 samples, half overlap), without 0 Hz. */
  gyroPeak_hz: measured,
})

const flight = v.object({
  file: v.object({ name: v.string(), bytes: count, sha256: v.string() }),
  dialect: dialectSchema,
  rows: count,
  duration_s: finite,
  /** (N-1)/(tN-t1) */
  rate_hz: finite,
  clock: clockReportSchema,
  columns: v.array(column),
  /** Names of the columns that were given no meaning. */
  unassigned: v.array(v.string()),
  /** The log's health; `cost` says what can't be given because of it. */
  health: v.array(noticeSchema),
  whole: v.array(wholeAxis),
})

/** One measure of one axis for both flights over the common span. */
const measure = v.object({
  measure: v.picklist(['tracking error RMS', 'lag', 'gyro RMS']),
  axis,
  unit: v.string(),
  a: measured,
  b: measured,
  /** b - a; null when either is. */
  difference: v.nullable(finite),
  better: v.picklist(['lower', 'higher', 'neither']),
})

export const reportSchema = v.object({
  format: v.literal(REPORT_FORMAT),
  program: v.literal('Twopack'),
  flights: v.object({ a: flight, b: flight }),
  alignment: v.object({
    /** Added to B's time to lie on A's. */
    offset_s: finite,
    by: v.nullable(v.string()),
    sure: v.picklist(['certain', 'likely', 'guess', 'none']),
    correlation: v.nullable(finite),
    sentence: v.string(),
  }),
  /** The part of A's clock in which both flights have samples; null when there is none. */
  span: v.nullable(v.object({ t0_s: finite, t1_s: finite })),
  measures: v.array(measure),
  /** What to keep in mind when reading the numbers. */
  cautions: v.array(v.string()),
  picture: v.nullable(v.literal('comparison.png')),
})
export type Report = v.InferOutput<typeof reportSchema>
