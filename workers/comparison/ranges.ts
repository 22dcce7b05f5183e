import type { Axis } from '../flight/axes.ts'
import type { ChannelName, FlightSignals } from '../flight/signals.ts'
import { extremesOf, type Pyramid } from '../reduce/pyramid.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { niceRange } from '../ticks/ticks.ts'

export interface Range {
  readonly min: number
  readonly max: number
}

/** A flight's signals with the pyramids for drawing them. */
export interface DrawnFlight {
  readonly signals: FlightSignals
  readonly pyramids: Readonly<Partial<Record<keyof FlightSignals['channels'], Pyramid>>>
}

/** A row's scale; `cut` when a setpoint runs beyond it. */
export interface RateRange extends Range {
  readonly cut: boolean
}

/** A setpoint may stretch a row's scale to this many times the gyro's largest value. */
const SETPOINT_STRETCH = 1.5

/**
 * One locked scale for an axis: setpoint and gyro of both flights over the given spans of their own clocks,
 * symmetrical about 0 so that both directions are judged alike, at least +-20 deg/s. It holds every value of the
 * gyros; a setpoint far beyond them (parked at a limit before take-off, as a rule) is cut, since it would flatten
 * everything else.
 */
export function rateRange(
  flights: readonly { readonly flight: DrawnFlight; readonly t0_s: number; readonly t1_s: number }[],
  axis: Axis,
): RateRange {
  const largest = (name: 'gyro' | 'setpoint') => largestOf(flights, `${name}.${axis}`)
  const gyro_dps = Math.max(20, largest('gyro'))
  const setpoint_dps = largest('setpoint')
  const { max } = niceRange(0, Math.max(gyro_dps, Math.min(setpoint_dps, SETPOINT_STRETCH * gyro_dps)), 3)
  return { min: -max, max, cut: setpoint_dps > max }
}

/** One locked scale for the error of an axis, symmetrical about 0, at least +-20 deg/s. */
export function errorRange(flights: Parameters<typeof rateRange>[0], axis: Axis): RateRange {
  const { max } = niceRange(0, Math.max(20, largestOf(flights, `error.${axis}`)), 3)
  return { min: -max, max, cut: false }
}

/** Largest size of a channel over the given spans; 0 where it is not logged. */
function largestOf(flights: Parameters<typeof rateRange>[0], channel: ChannelName): number {
  return flights.reduce((most, { flight, t0_s, t1_s }) => {
    const samples = flight.signals.channels[channel]
    const pyramid = flight.pyramids[channel]
    if (!samples || !pyramid) return most
    const { t_s } = flight.signals
    const { min, max } = extremesOf(samples, pyramid, firstAtOrAfter(t_s, t0_s), firstAfter(t_s, t1_s))
    return Number.isFinite(max) ? Math.max(most, -min, max) : most
  }, 0)
}

/** The span of the common clock in which both flights have samples; null when they don't overlap. */
export function commonSpan(
  a: FlightSignals,
  b: FlightSignals,
  offset_s: number,
): { t0_s: number; t1_s: number } | null {
  const t0_s = Math.max(a.t_s[0] ?? 0, (b.t_s[0] ?? 0) + offset_s)
  const t1_s = Math.min(a.t_s.at(-1) ?? 0, (b.t_s.at(-1) ?? 0) + offset_s)
  return t1_s > t0_s ? { t0_s, t1_s } : null
}

/** The span of the common clock in which at least one of the flights has samples. */
export function wholeSpan(
  a: FlightSignals,
  b: FlightSignals,
  offset_s: number,
): { t0_s: number; t1_s: number } {
  return {
    t0_s: Math.min(a.t_s[0] ?? 0, (b.t_s[0] ?? 0) + offset_s),
    t1_s: Math.max(a.t_s.at(-1) ?? 0, (b.t_s.at(-1) ?? 0) + offset_s),
  }
}
