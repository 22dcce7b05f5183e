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

/** Scales end at round numbers, but not so round that half of the row stays empty. */
const SCALE_STEPS = 6

/** A flight with the span of its own clock that counts. */
export type FlightPart = { readonly flight: DrawnFlight; readonly t0_s: number; readonly t1_s: number }

/** What is drawn on one scale: channels, and which of them are demands. */
export type ScaledChannel = { readonly channel: ChannelName; readonly demand: boolean }

/**
 * One scale for channels of one unit over the given spans. Shares (throttle, motors: 0..1; sticks: -1..1) have theirs whole,
 * so that what is left is seen. Rates are symmetrical about 0, at least +-20 deg/s, and a demand stretches them to
 * 1.5 times what was answered at most; what runs beyond is cut, since it would flatten everything else. Anything
 * else fits its values, about 0 when it has both signs.
 */
export function traceRange(
  flights: readonly FlightPart[],
  channels: readonly ScaledChannel[],
  unit: string,
): RateRange {
  if (unit === '%') {
    const signed = channels.some(({ channel }) => channel.startsWith('stick.'))
    return { min: signed ? -1 : 0, max: 1, cut: false }
  }
  const sizeOf = (some: readonly ScaledChannel[]) =>
    some.reduce((most, { channel }) => Math.max(most, largestOf(flights, channel)), 0)
  if (unit === 'deg/s') {
    const answers = channels.filter(({ demand }) => !demand)
    const demanded = sizeOf(channels.filter(({ demand }) => demand))
    const answered = Math.max(20, answers.length > 0 ? sizeOf(answers) : demanded)
    const { max } = niceRange(
      0,
      Math.max(answered, Math.min(demanded, SETPOINT_STRETCH * answered)),
      SCALE_STEPS,
    )
    return { min: -max, max, cut: demanded > max }
  }
  const { min, max } = channels.reduce(
    (all, { channel }) => {
      const one = extremesIn(flights, channel)
      return { min: Math.min(all.min, one.min), max: Math.max(all.max, one.max) }
    },
    { min: Infinity, max: -Infinity },
  )
  if (!(min <= max)) return { min: 0, max: 1, cut: false }
  if (min < 0 && max > 0) {
    const size = niceRange(0, Math.max(-min, max), SCALE_STEPS).max
    return { min: -size, max: size, cut: false }
  }
  const room = Math.max((max - min) * 0.05, Math.abs(max) * 1e-3, 1e-6)
  const fitted = niceRange(min - room, max + room, 4)
  return { min: min >= 0 ? Math.max(0, fitted.min) : fitted.min, max: fitted.max, cut: false }
}

/** One scale for setpoint and gyro of an axis, for the picture. */
export function rateRange(flights: readonly FlightPart[], axis: Axis): RateRange {
  const channels = [
    { channel: `setpoint.${axis}`, demand: true },
    { channel: `gyro.${axis}`, demand: false },
  ] as const
  return traceRange(flights, channels, 'deg/s')
}

/** Largest size of a channel over the given spans; 0 where it is not logged. */
function largestOf(flights: readonly FlightPart[], channel: ChannelName): number {
  const { min, max } = extremesIn(flights, channel)
  return min <= max ? Math.max(0, -min, max) : 0
}

/** Smallest and largest value of a channel over the given spans; turned round when there is none. */
function extremesIn(flights: readonly FlightPart[], channel: ChannelName): Range {
  let [least, most] = [Infinity, -Infinity]
  for (const { flight, t0_s, t1_s } of flights) {
    const samples = flight.signals.channels[channel]
    const pyramid = flight.pyramids[channel]
    if (!samples || !pyramid) continue
    const { t_s } = flight.signals
    const { min, max } = extremesOf(samples, pyramid, firstAtOrAfter(t_s, t0_s), firstAfter(t_s, t1_s))
    if (min < least) least = min
    if (max > most) most = max
  }
  return { min: least, max: most }
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
