import { UNITS } from '../../workers/units/units.ts'
import { measureFlight, type Measured } from '../../workers/comparison/flight-measures.ts'
import { AXES } from '../../workers/flight/axes.ts'
import type { FlightSignals } from '../../workers/flight/signals.ts'
import type { ReadLog } from '../../workers/log/log.ts'
import { welch } from '../../workers/signal/welch.ts'
import type { Report } from './format.ts'

const SEGMENT = 256

/** One flight's part of the report: what was read, what the columns were taken to mean, the whole flight's measures. */
export function flightReport(log: ReadLog, signals: FlightSignals): Report['flights']['a'] {
  const { t_s } = signals
  const whole = measureFlight(signals, t_s[0] ?? 0, t_s.at(-1) ?? 0)
  const given = new Set(log.assignments.map((assignment) => assignment.column))
  return {
    file: { name: log.fileName, bytes: log.bytes, sha256: log.contentHash },
    dialect: log.dialect,
    rows: log.rows,
    duration_s: log.clock.duration_s,
    rate_hz: log.clock.effectiveRate_hz,
    clock: log.clock,
    columns: log.assignments.map(({ role, column, name, unit, sign, sure, how }) => ({
      role,
      column,
      name,
      unit,
      unitLabel: UNITS[unit].label,
      sign,
      sure,
      how,
    })),
    unassigned: log.columns.filter(({ index }) => !given.has(index)).map(({ name }) => name),
    health: [...log.notices],
    whole: AXES.map((axis) => ({
      axis,
      gyroRms_dps: whole[axis].gyroRms_dps,
      trackingErrorRms_dps: whole[axis].trackingRms_dps,
      lag_ms: whole[axis].lag_ms,
      gyroPeak_hz: peakOf(signals.channels[`gyro.${axis}`], signals.rate_hz),
    })),
  }
}

function peakOf(gyro: Float32Array | undefined, rate_hz: number): Measured {
  if (!gyro) return { value: null, reason: 'The log holds no gyro for this axis.' }
  if (gyro.length < SEGMENT) return { value: null, reason: `A spectrum needs ${SEGMENT} samples.` }
  const { density, f_hz } = welch(gyro, { rate_hz, segment: SEGMENT })
  let highest = 1
  for (let bin = 1; bin < density.length; bin++)
    if ((density[bin] ?? 0) > (density[highest] ?? 0)) highest = bin
  const value = f_hz[highest]
  return value === undefined || !Number.isFinite(density[highest])
    ? { value: null, reason: 'The gyro has no unbroken stretch long enough for a spectrum.' }
    : { value, reason: null }
}
