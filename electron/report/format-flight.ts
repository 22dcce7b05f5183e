/** One flight in report.json, and one measure of both. */
import * as v from 'valibot'
import {
  roleSchema,
  clockReportSchema,
  dialectSchema,
  noticeSchema,
  unitIdSchema,
} from '../desk/contract/schemas.ts'
import { axis, count, finite, measured } from './format-parts.ts'

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

export const flight = v.object({
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
export const measure = v.object({
  measure: v.picklist(['tracking error RMS', 'lag', 'gyro RMS']),
  axis,
  unit: v.string(),
  a: measured,
  b: measured,
  /** b - a; null when either is. */
  difference: v.nullable(finite),
  better: v.picklist(['lower', 'higher', 'neither']),
})
