import { applyAssignment } from '../columns/apply-assignment.ts'
import type { Assignment, Role } from '../columns/roles.ts'
import { mendClock } from '../clock/clock.ts'
import { meanRate_hz } from '../signal/clock-breaks.ts'
import { UNITS } from '../units/units.ts'

export type ChannelName = Exclude<Role, 'time'>

/** One flight's samples in canonical units, ready for drawing and computing. All arrays have equal length. */
export interface FlightSignals {
  /** Seconds from the first sample, never decreasing (see workers/clock). */
  readonly t_s: Float64Array
  /** Mean rate over the flight, (N-1)/(tN-t1). */
  readonly rate_hz: number
  readonly channels: Readonly<Partial<Record<ChannelName, Float32Array>>>
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
  const raw = rawOf(time.column)
  const t_s = mendClock(timeInSeconds(raw, time))
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  for (const assignment of assignments) {
    if (assignment.role === 'time') continue
    const samples = applyAssignment(rawOf(assignment.column), assignment)
    if (samples.length !== t_s.length) {
      throw new Error(`${assignment.role} has ${samples.length} samples, time has ${t_s.length}`)
    }
    channels[assignment.role] = samples
  }
  return { t_s, rate_hz: meanRate_hz(t_s), channels }
}

/** The motors' channels in order of their number. */
export function motorChannels(signals: FlightSignals): ChannelName[] {
  return (Object.keys(signals.channels) as ChannelName[])
    .filter((name) => name.startsWith('motor.'))
    .sort((a, b) => Number(a.slice(6)) - Number(b.slice(6)))
}

/** Seconds from the first stamp, in 64 bits: nanosecond counters must lose nothing on the way. */
function timeInSeconds(raw: RawColumn, { unit }: Assignment): Float64Array {
  const { scale } = UNITS[unit]
  const first = raw[0] ?? 0
  return Float64Array.from(raw, (stamp) => (stamp - first) * scale)
}
