import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
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

/**
 * One locked scale for an axis: setpoint and gyro of both flights over the given spans of their own clocks,
 * symmetrical about 0 so that both directions are judged alike, at least +-20 deg/s.
 */
export function rateRange(flights: readonly { flight: DrawnFlight; t0_s: number; t1_s: number }[], axis: Axis): Range {
  let largest = 20
  for (const { flight, t0_s, t1_s } of flights) {
    for (const name of [`gyro.${axis}`, `setpoint.${axis}`] as const) {
      const samples = flight.signals.channels[name]
      const pyramid = flight.pyramids[name]
      if (!samples || !pyramid) continue
      const { t_s } = flight.signals
      const found = extremesOf(samples, pyramid, firstAtOrAfter(t_s, t0_s), firstAfter(t_s, t1_s))
      if (Number.isFinite(found.max)) largest = Math.max(largest, Math.abs(found.min), Math.abs(found.max))
    }
  }
  const { max } = niceRange(0, largest, 3)
  return { min: -max, max }
}

/** The span of the common clock in which both flights have samples; null when they don't overlap. */
export function commonSpan(a: FlightSignals, b: FlightSignals, offset_s: number): { t0_s: number; t1_s: number } | null {
  const t0_s = Math.max(a.t_s[0] ?? 0, (b.t_s[0] ?? 0) + offset_s)
  const t1_s = Math.min(a.t_s.at(-1) ?? 0, (b.t_s.at(-1) ?? 0) + offset_s)
  return t1_s > t0_s ? { t0_s, t1_s } : null
}

/** The span of the common clock in which at least one of the flights has samples. */
export function wholeSpan(a: FlightSignals, b: FlightSignals, offset_s: number): { t0_s: number; t1_s: number } {
  return {
    t0_s: Math.min(a.t_s[0] ?? 0, (b.t_s[0] ?? 0) + offset_s),
    t1_s: Math.max(a.t_s.at(-1) ?? 0, (b.t_s.at(-1) ?? 0) + offset_s),
  }
}
