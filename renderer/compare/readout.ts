import type { Lane } from '../../workers/comparison/spectra.ts'
import type { ChannelName, FlightSignals } from '../../workers/flight/signals.ts'
import { firstAtOrAfter } from '../../workers/reduce/reduce.ts'

/** A cursor this many mean steps from the nearest sample reads nothing: there is a gap. */
const REACH_STEPS = 2

/** Index of the sample nearest to t_s on the flight's own clock; -1 in a gap and outside the flight. */
export function nearestSample(signals: FlightSignals, t_s: number): number {
  const after = firstAtOrAfter(signals.t_s, t_s)
  const distance = (index: number) => Math.abs((signals.t_s[index] ?? Infinity) - t_s)
  const nearest = distance(after - 1) < distance(after) ? after - 1 : after
  return distance(nearest) <= REACH_STEPS / signals.rate_hz ? nearest : -1
}

/** A channel's value at the nearest sample; null in a gap, outside, or where the channel is not logged. */
export function valueAt(signals: FlightSignals, channel: ChannelName, t_s: number): number | null {
  const value = signals.channels[channel]?.[nearestSample(signals, t_s)]
  return value === undefined || Number.isNaN(value) ? null : value
}

/** The time of the sample `step` away from the one nearest to t_s, kept within the flight. */
export function stepFrom(signals: FlightSignals, t_s: number, step: number): number {
  const last = signals.t_s.length - 1
  const here = Math.min(last, firstAtOrAfter(signals.t_s, t_s - 1e-9))
  return signals.t_s[Math.min(last, Math.max(0, here + step))] ?? t_s
}

/** A lane's level at a time of the flight's own clock and a frequency; null outside the lane and in a gap. */
export function levelAt(lane: Lane, t_s: number, f_hz: number): number | null {
  const after = firstAtOrAfter(lane.t_s, t_s)
  const distance = (index: number) => Math.abs((lane.t_s[index] ?? Infinity) - t_s)
  const frame = distance(after - 1) < distance(after) ? after - 1 : after
  if (distance(frame) > (REACH_STEPS * lane.hop) / lane.rate_hz) return null
  const bin = Math.round(f_hz / (lane.f_hz[1] ?? 1))
  const level_db = bin < lane.bins ? lane.level_db[frame * lane.bins + bin] : undefined
  return level_db === undefined || Number.isNaN(level_db) ? null : level_db
}
