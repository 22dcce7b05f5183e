import { applyAssignment, canonicalTime } from '../columns/apply-assignment.ts'
import type { Assignment, Role } from '../columns/roles.ts'
import { isElectrical } from '../units/units.ts'
import { AXES, type Axis } from './axes.ts'
import { mendClock } from '../clock/clock.ts'
import { meanRate_hz } from '../signal/clock-breaks.ts'

/**
 * A logged channel, or one that is made of two: the error setpoint minus gyro, and the setpoint estimated from stick
 * and gyro where none is logged (workers/flight/estimated-setpoint.ts).
 */
export type ChannelName = Exclude<Role, 'time'> | `error.${Axis}` | `estimated.${Axis}`

/** One flight's samples in canonical units, ready for drawing and computing. All arrays have equal length. */
export interface FlightSignals {
  /** Seconds from the first sample, never decreasing (see workers/clock). */
  readonly t_s: Float64Array
  /** Mean rate over the flight, (N-1)/(tN-t1). */
  readonly rate_hz: number
  readonly channels: Readonly<Partial<Record<ChannelName, Float32Array>>>
  /** Motor speeds count pole pairs; without it they are the rotors' own. */
  readonly electricalSpeeds?: true
}

/** A column's numbers as the file has them. */
export type RawColumn = Float32Array | Float64Array

/**
 * Brings the assigned columns of a flight to canonical units and mends its clock.
 * Sizes must agree; NaN (an empty cell) stays NaN in channels.
 *
 * @throws Error when there is no time column or a column is missing or of another length.
 */
export function prepareSignals(
  assignments: readonly Assignment[],
  rawOf: (column: number) => RawColumn,
): FlightSignals {
  const time = assignments.find((assignment) => assignment.role === 'time')
  if (!time) throw new Error('prepareSignals needs a time column')
  const t_s = fromFirst(mendClock(canonicalTime(rawOf(time.column), time)))
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  for (const assignment of assignments) {
    if (assignment.role === 'time') continue
    const samples = applyAssignment(rawOf(assignment.column), assignment)
    if (samples.length !== t_s.length) {
      throw new Error(`${assignment.role} has ${samples.length} samples, time has ${t_s.length}`)
    }
    channels[assignment.role] = samples
  }
  const electrical = assignments.some(({ role, unit }) => role.startsWith('speed.') && isElectrical(unit))
  return { t_s, rate_hz: meanRate_hz(t_s), channels, ...(electrical ? { electricalSpeeds: true } : {}) }
}

/** The same flight with the error of each axis that has both setpoint and gyro, as channels of their own. */
export function withErrors(signals: FlightSignals): FlightSignals {
  const channels: Partial<Record<ChannelName, Float32Array>> = { ...signals.channels }
  for (const axis of AXES) {
    const setpoint = channels[`setpoint.${axis}`]
    const gyro = channels[`gyro.${axis}`]
    if (setpoint && gyro)
      channels[`error.${axis}`] = setpoint.map((value, index) => value - (gyro[index] ?? NaN))
  }
  return { ...signals, channels }
}

/** A flight's channels with their names. */
export function channelEntries({ channels }: FlightSignals): [ChannelName, Float32Array][] {
  return Object.entries(channels) as [ChannelName, Float32Array][]
}

/** The motors' channels in order of their number. */
export function motorChannels(signals: FlightSignals): ChannelName[] {
  return channelEntries(signals)
    .map(([name]) => name)
    .filter((name) => name.startsWith('motor.'))
    .sort((a, b) => Number(a.slice(6)) - Number(b.slice(6)))
}

/** The channels of the motors' speeds in order of their number. */
export function speedChannels(signals: FlightSignals): ChannelName[] {
  return channelEntries(signals)
    .map(([name]) => name)
    .filter((name) => name.startsWith('speed.'))
    .sort((a, b) => Number(a.slice(6)) - Number(b.slice(6)))
}

/** Counts from the first stamp, which is 0. */
function fromFirst(t_s: Float64Array): Float64Array {
  const first_s = t_s[0] ?? 0
  return t_s.map((stamp_s) => stamp_s - first_s)
}
