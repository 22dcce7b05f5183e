import { chiSquareQuantile } from '../signal/chi-square.ts'
import { filterZeroPhase } from '../signal/filtering.ts'
import { butterworthHighPass, butterworthLowPass } from '../signal/filters.ts'
import { refused, type Basis, given, type Result } from '../signal/result.ts'
import { runsOf } from '../signal/segments.ts'

/**
 * Shaking in one's own wake. No standard definition is known; ours: the throttle falls by at least `fall` within
 * `within_s` (a drop, or the way out of an inverted one), and is then opened again by at least `recover`. What counts is
 * the half second from where it opens.
 */
export interface WashEvent {
  /** Sample at which the throttle is lowest before it opens. */
  readonly start: number
  /** Where the half second ends (not included). */
  readonly end: number
  readonly fall: number
  readonly recovery: number
}

export const WASH = {
  fall: 0.25,
  within_s: 0.5,
  recover: 0.2,
  /** Low throttle lasts at most this long. */
  low_s: 3,
  /** The throttle opens within this. */
  open_s: 0.5,
  shake_s: 0.5,
  band_hz: [8, 40] as const,
} as const

export const WASH_METHOD = { id: 'prop-wash', version: 2 }

/** The throttle is looked through in steps of this: it moves slowly. */
const LOOK_S = 0.005

/** Finds the events in a throttle of 0..1, in order, none overlapping the next. */
export function findWashEvents(throttle: ArrayLike<number>, rate_hz: number): WashEvent[] {
  const stride = Math.max(1, Math.round(LOOK_S * rate_hz))
  const fallReach = Math.round(WASH.within_s * rate_hz)
  const openReach = Math.round(WASH.open_s * rate_hz)
  const shake = Math.round(WASH.shake_s * rate_hz)
  const events: WashEvent[] = []
  for (let n = 0; n + fallReach < throttle.length; n += stride) {
    const fall = throttle[n]! - throttle[n + fallReach]!
    if (!(fall >= WASH.fall)) continue
    const opened = openingAfter(throttle, rate_hz, n + fallReach, throttle[n]! - 0.5 * fall, stride)
    // Nothing opens after this fall, nor after the same fall looked at a moment later.
    if (opened < 0) {
      n += fallReach
      continue
    }
    // Back to the lowest point: the opening found may begin before the throttle moves.
    let start = opened
    for (let m = opened; m < opened + openReach; m++) if (throttle[m]! <= throttle[start]!) start = m
    const end = start + shake
    if (end > throttle.length) break
    const after = throttle[Math.min(throttle.length - 1, start + openReach)]!
    events.push({ start, end, fall, recovery: after - throttle[start]! })
    n = end
  }
  return events
}

/** First look at which the throttle, still below `ceiling`, gains enough within `open_s`; -1 if none in `low_s`. */
function openingAfter(
  throttle: ArrayLike<number>,
  rate_hz: number,
  from: number,
  ceiling: number,
  stride: number,
): number {
  const openReach = Math.round(WASH.open_s * rate_hz)
  const last = Math.min(throttle.length - openReach, from + Math.round(WASH.low_s * rate_hz))
  for (let m = from; m < last; m += stride) {
    if (throttle[m]! <= ceiling && throttle[m + openReach]! - throttle[m]! >= WASH.recover) return m
  }
  return -1
}

/** Power of the gyro's movement that the setpoint does not explain, 8-40 Hz. */
export interface WashBand {
  /** Filtered without delay; NaN outside gapless stretches. */
  readonly band: Float64Array
  readonly rate_hz: number
  /** Median power of half-second windows away from every event: the quiet baseline. Null when there are fewer than six. */
  readonly baseline: number | null
  readonly windows: number
}

/**
 * Band-passes a residual (gyro less what the setpoint explains of it, so that hard flying does not count as wash) and
 * takes its quiet baseline from windows that no event touches. The band is written into what `room` gives, fresh arrays when left
 * out.
 */
export function washBand(
  residual: ArrayLike<number>,
  rate_hz: number,
  events: readonly WashEvent[],
  breaks: ArrayLike<number> = [],
  room: (length: number) => Float64Array = (length) => new Float64Array(length),
): WashBand {
  const [low_hz, high_hz] = WASH.band_hz
  const chain = [
    ...butterworthHighPass(2, low_hz, rate_hz),
    ...butterworthLowPass(2, Math.min(high_hz, 0.45 * rate_hz), rate_hz),
  ]
  const band = room(residual.length).fill(NaN)
  // Its ends are continued by a few samples.
  const work = room(residual.length + 100)
  const values = room(residual.length)
  values.set(residual)
  const shortest = Math.max(16, Math.round(0.5 * rate_hz))
  for (const { start, end } of runsOf([residual], breaks)) {
    if (end - start < shortest) continue
    band.set(filterZeroPhase(chain, values.subarray(start, end), work), start)
  }
  const size = Math.round(WASH.shake_s * rate_hz)
  const margin = Math.round(0.25 * rate_hz)
  const quiet: number[] = []
  for (let start = 0; start + size <= band.length; start += size) {
    if (events.some((event) => start < event.end + margin && start + size > event.start - margin)) continue
    const power = meanSquare(band, start, start + size)
    if (Number.isFinite(power)) quiet.push(power)
  }
  quiet.sort((a, b) => a - b)
  return {
    band,
    rate_hz,
    baseline: quiet.length >= 6 ? quiet[quiet.length >> 1]! : null,
    windows: quiet.length,
  }
}

function meanSquare(values: Float64Array, from: number, to: number): number {
  let sum = 0
  for (let n = from; n < to; n++) sum += values[n]! ** 2
  return sum / (to - from)
}

/**
 * Strength of one event on one axis: power of the band in its half second over the quiet baseline, dB. The interval
 * is that of a power from 2 B T = 32 degrees of freedom (chi-square), sampling error only.
 */
export function washScore({ band, baseline, windows }: WashBand, event: WashEvent): Result<number> {
  const basis: Pick<Basis, 'method' | 'samples' | 'segments'> = {
    method: WASH_METHOD,
    samples: event.end - event.start,
    segments: windows,
  }
  if (baseline === null)
    return refused('There is too little quiet flight to compare the shaking with.', basis)
  const power = meanSquare(band, event.start, event.end)
  if (!Number.isFinite(power)) return refused('Samples are missing in this event.', basis)
  if (!(baseline > 0)) return refused('The quiet baseline is empty.', basis)
  const dof = 2 * (WASH.band_hz[1] - WASH.band_hz[0]) * WASH.shake_s
  const level = 10 * Math.log10(power / baseline)
  return given(level, 'dB', basis, {
    low: level + 10 * Math.log10(dof / chiSquareQuantile(0.975, dof)),
    high: level + 10 * Math.log10(dof / chiSquareQuantile(0.025, dof)),
    coverage: 0.95,
    covers: 'sampling error only',
  })
}
