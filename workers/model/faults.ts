import type { FlightRecord } from './flight.ts'
import type { ColumnGroup, LogStyle } from './log-style.ts'
import { Random, seedFor } from './random.ts'

/** What can be wrong with a log. Shares are of the rows. */
export interface Faults {
  /** Stamps scattered evenly by up to this share of the frame interval, either way. */
  readonly jitter: number
  /** Rows lost, in bursts of this mean length. */
  readonly lost: number
  readonly lostBurst: number
  /** Rows that carry the stamp of the row before. */
  readonly duplicate: number
  /** Rows whose stamp falls behind the row before. */
  readonly backward: number
  /** The clock is a 32-bit counter of microseconds that runs over in mid-flight. */
  readonly wrap: boolean
  /** Gyro and setpoint rounded to multiples of this, deg/s; 0 leaves them. */
  readonly quantum_dps: number
  /** The last line breaks off in the middle. */
  readonly cut: boolean
  /** Columns that are not logged. */
  readonly without: readonly ColumnGroup[]
}

export const NO_FAULTS: Faults = {
  jitter: 0,
  lost: 0,
  lostBurst: 4,
  duplicate: 0,
  backward: 0,
  wrap: false,
  quantum_dps: 0,
  cut: false,
  without: [],
}

/** What the faults did: part of the truth. Rows count from 0 in the written log. */
export interface FaultReport {
  readonly faults: Faults
  readonly rowsWritten: number
  readonly rowsLost: number
  /** Stretches of lost rows: the written row after each, and how many are missing before it. */
  readonly gaps: readonly { readonly row: number; readonly missing: number }[]
  readonly duplicateRows: readonly number[]
  readonly backwardRows: readonly number[]
  readonly wrapRow: number | null
}

export const COUNTER_RANGE_US = 2 ** 32

export interface FaultyLog {
  readonly record: FlightRecord
  readonly style: LogStyle
  readonly rows: Int32Array
  readonly stamps_s: Float64Array
  readonly report: FaultReport
}

/**
 * Applies faults to a record: which rows are written, with which stamps, in which columns. The record's truth
 * is left alone. `cut` is carried out by `cutLastLine` on the written text.
 */
export function applyFaults(record: FlightRecord, style: LogStyle, faults: Faults, seed: number): FaultyLog {
  const random = new Random(seedFor(seed, 'faults'))
  const { rows, gaps } = keptRows(record.rows, faults, random)
  const stamps_s = Float64Array.from(rows, (row) => record.t_s[row]!)
  const interval_s = record.rows > 1 ? (record.t_s[record.rows - 1]! - record.t_s[0]!) / (record.rows - 1) : 0
  if (faults.jitter > 0)
    for (let row = 1; row < stamps_s.length; row++)
      stamps_s[row] = stamps_s[row]! + faults.jitter * interval_s * (2 * random.uniform() - 1)
  const duplicateRows: number[] = []
  const backwardRows: number[] = []
  for (let row = 1; row < stamps_s.length; row++) {
    const lot = random.uniform()
    if (lot < faults.duplicate) {
      stamps_s[row] = stamps_s[row - 1]!
      duplicateRows.push(row)
    } else if (lot < faults.duplicate + faults.backward) {
      stamps_s[row] = stamps_s[row - 1]! - interval_s * random.between(0.5, 3)
      backwardRows.push(row)
    }
  }
  const wrapRow = faults.wrap ? wrapClock(stamps_s) : null
  return {
    record: faults.quantum_dps > 0 ? quantised(record, faults.quantum_dps) : record,
    style: {
      ...style,
      groups: style.groups.filter((group) => !faults.without.includes(group)),
      // A counter of microseconds is written as one.
      time: faults.wrap ? { unit: 'us', decimals: 0 } : style.time,
    },
    rows,
    stamps_s,
    report: {
      faults,
      rowsWritten: rows.length,
      rowsLost: record.rows - rows.length,
      gaps,
      duplicateRows,
      backwardRows,
      wrapRow,
    },
  }
}

/** A log whose last line breaks off in the middle: the final newline and the last half of the line are gone. */
export function cutLastLine(log: Uint8Array): Uint8Array {
  const newline = 10
  let start = log.length - 2
  while (start > 0 && log[start - 1] !== newline) start--
  return log.subarray(0, start + Math.max(1, Math.floor((log.length - 1 - start) / 2)))
}

function keptRows(total: number, faults: Faults, random: Random) {
  const kept: number[] = []
  const gaps: { row: number; missing: number }[] = []
  const start = faults.lost / faults.lostBurst / Math.max(1e-9, 1 - faults.lost)
  let losing = 0
  let missing = 0
  for (let row = 0; row < total; row++) {
    // The first row stays, so that times still count from the flight's beginning.
    if (row > 0 && losing === 0 && random.uniform() < start)
      losing = Math.max(1, Math.round(-Math.log(1 - random.uniform()) * faults.lostBurst))
    if (losing > 0) {
      losing--
      missing++
      continue
    }
    if (missing > 0) gaps.push({ row: kept.length, missing })
    missing = 0
    kept.push(row)
  }
  return { rows: Int32Array.from(kept), gaps }
}

/** Shifts the stamps so that a 32-bit microsecond counter runs over halfway; returns the first row after it. */
function wrapClock(stamps_s: Float64Array): number | null {
  const middle = stamps_s.length >> 1
  const offset_us = COUNTER_RANGE_US - Math.round((stamps_s[middle] ?? 0) * 1e6)
  let wrapRow: number | null = null
  for (let row = 0; row < stamps_s.length; row++) {
    const counted = Math.round(stamps_s[row]! * 1e6) + offset_us
    if (counted >= COUNTER_RANGE_US && wrapRow === null) wrapRow = row
    stamps_s[row] = (counted % COUNTER_RANGE_US) / 1e6
  }
  return wrapRow
}

function quantised(record: FlightRecord, quantum_dps: number): FlightRecord {
  const round = (columns: readonly Float32Array[]) =>
    columns.map((column) => column.map((value) => Math.round(value / quantum_dps) * quantum_dps))
  return {
    ...record,
    gyro_dps: round(record.gyro_dps),
    gyroRaw_dps: round(record.gyroRaw_dps),
    setpoint_dps: round(record.setpoint_dps),
  }
}
