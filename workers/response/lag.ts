import { meanRate_hz } from '../signal/clock-breaks.ts'
import { correlate, parabolaPeak, type Correlation } from '../signal/correlate.ts'
import { crossProducts } from '../signal/cross-products.ts'
import { decimated } from '../signal/decimate.ts'
import { toUniform } from '../signal/resample.ts'
import { areSamples, type Samples } from '../signal/samples.ts'
import { inStretches } from '../signal/stretches.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import { isWhole } from '../signal/segments.ts'
import { slowFactor, type SlowSeries } from './slow-series.ts'

export interface LagOptions {
  readonly rate_hz: number
  /** Shifts up to this are tried, both ways; 0.25 s when left out. */
  readonly maxLag_s?: number
  /** False: no interval is worked out (it ends at the infinities), which takes half of the time. */
  readonly interval?: boolean
  /** Stamps of the samples. With them, slow or uneven logs are brought to an even 0.5 to 1 kHz first. */
  readonly t_s?: ArrayLike<number>
  /** True where it is known that every sample of both series is finite: they are not looked through then. */
  readonly whole?: boolean
  /** Whether the stamps lie on an even clock (see `isEven`), where it is at hand. */
  readonly even?: boolean
  /** The means of `slowSeries`, where they are at hand: taken for what lies on an even clock. */
  readonly slow?: () => SlowSeries
}

/** The delay at which the gyro looks most like the setpoint. */
export interface Lag {
  readonly kind: 'lag'
  /** Positive: the gyro follows the setpoint. */
  readonly lag_s: number
  /** Correlation at the peak. */
  readonly r: number
  /** 95 % interval, sampling error only. */
  readonly low_s: number
  readonly high_s: number
  /** A broad peak: being 10 ms off costs less than 1 % of the correlation, so shape and delay mix. */
  readonly flat: boolean
  /** Samples that overlapped at the peak, as recorded (not as interpolated). */
  readonly n: number
}

/** Why no lag is given, in one plain sentence. */
export interface LagRefusal {
  readonly kind: 'refused'
  readonly reason: string
}

/** Below this the gyro can't be said to follow the setpoint (common practice, no source). */
export const MIN_CORRELATION = 0.3
/** Fewer samples than this say nothing (common practice, no source). */
const MIN_SAMPLES = 50
/** Logs are brought to at least this rate before shifts are tried. */
const FINE_RATE_HZ = 500
const FLAT_SHIFT_S = 0.01
const FLAT_LOSS = 0.01

const refuse = (reason: string): LagRefusal => ({ kind: 'refused', reason })

/**
 * Delay of the gyro behind the setpoint (both deg/s, or any one unit each): Pearson's correlation over the
 * samples that overlap at each shift, its peak refined by a parabola. NaN samples take no part. The interval comes from
 * the model gyro = b setpoint(t - lag) + noise: var = G s^2 / (b^2 sum u'^2), with s^2 the noise's variance and G for
 * its and the setpoint's memory; it covers sampling error only, not a response that is more than a delay.
 * Refuses when a series is constant, too short or not followed, or when the peak lies at the end of the range.
 */
export function lag(
  setpoint: ArrayLike<number>,
  gyro: ArrayLike<number>,
  options: LagOptions,
): Lag | LagRefusal {
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  if (!(options.rate_hz > 0)) throw new Error(`sample rate must be positive: ${options.rate_hz}`)
  const maxLag_s = options.maxLag_s ?? 0.25
  const { u, y, rate_hz, finer } = atEvenRate(setpoint, gyro, options)
  const reach = Math.max(2, Math.round(maxLag_s * rate_hz))
  const { pairs, moves } = lookThrough(u, y, options.whole === true && u === setpoint && y === gyro)
  const usable = pairs / finer
  if (usable < MIN_SAMPLES || usable < 2 * maxLag_s * options.rate_hz) {
    return refuse(`Lag needs more flight: only ${Math.round(usable)} samples have both setpoint and gyro.`)
  }
  if (!moves.u) {
    return refuse('The setpoint does not move in this span, so the gyro has nothing to lag behind.')
  }
  if (!moves.y) return refuse('The gyro does not move in this span.')
  const slow = meansOf(u, y, rate_hz, u === setpoint && y === gyro ? options.slow : undefined)
  const found = peakOf(u, y, reach, rate_hz, slow)
  if (!(found.r >= MIN_CORRELATION)) {
    return refuse(
      `The gyro follows the setpoint too loosely to tell a lag (correlation ${(found.r || 0).toFixed(2)}).`,
    )
  }
  if (Math.abs(found.lag) >= reach) {
    return refuse(
      `No peak within ${Math.round(maxLag_s * 1000)} ms: the best match lies at the end of the range.`,
    )
  }
  const lag_s = (found.lag + found.shift) / rate_hz
  const halfWidth_s =
    options.interval === false
      ? Infinity
      : 1.96 * withScratch((scratch) => standardError_s(slow, lag_s, scratch))
  return {
    kind: 'lag',
    lag_s,
    r: found.r,
    low_s: lag_s - halfWidth_s,
    high_s: lag_s + halfWidth_s,
    flat: found.loss < FLAT_LOSS,
    n: Math.round(found.overlap / finer),
  }
}

interface Peak {
  /** Whole samples, and the parabola's part of one. */
  readonly lag: number
  readonly shift: number
  readonly r: number
  readonly overlap: number
}

/** The series as shifts are first tried on them: means at about 500 Hz, as they are where they are slow. */
interface Means {
  readonly u: Samples
  readonly y: Samples
  readonly rate_hz: number
  readonly factor: number
}

function meansOf(u: Samples, y: Samples, rate_hz: number, slow: (() => SlowSeries) | undefined): Means {
  const factor = slowFactor(rate_hz)
  if (factor < 2) return { u, y, rate_hz, factor }
  const known = slow?.()
  if (known?.setpoint.length === Math.floor(u.length / factor))
    return { u: known.setpoint, y: known.gyro, rate_hz: rate_hz / factor, factor }
  const means = (samples: Samples) => decimated(samples, factor).samples
  return { u: means(u), y: means(y), rate_hz: rate_hz / factor, factor }
}

/** The best correlation within the reach: on means first where the rate is high, then sample by sample around that. */
function peakOf(
  u: Samples,
  y: Samples,
  reach: number,
  rate_hz: number,
  slow: Means,
): Peak & { readonly loss: number } {
  const { factor } = slow
  if (factor < 2) {
    const all = correlate(u, y, -reach, reach)
    const peak = climbed(all)
    return { ...peak, loss: lossBeside(all, peak.lag, rate_hz) }
  }
  const coarseReach = Math.ceil(reach / factor)
  const means = correlate(slow.u, slow.y, -coarseReach, coarseReach)
  const coarse = climbed(means)
  const loss = lossBeside(means, coarse.lag, rate_hz / factor)
  const inside = (lag: number) => Math.max(1 - reach, Math.min(reach - 1, lag))
  let guess = inside(Math.round((coarse.lag + coarse.shift) * factor))
  for (;;) {
    const near = climbed(correlate(u, y, guess - 1, guess + 1))
    if (near.lag === guess || Math.abs(near.lag) === reach) return { ...near, loss }
    guess = inside(near.lag)
  }
}

/** What being FLAT_SHIFT_S off the peak costs of its correlation, on the better side. */
function lossBeside({ r, firstLag }: Correlation, peak: number, rate_hz: number): number {
  const away = Math.max(1, Math.round(FLAT_SHIFT_S * rate_hz))
  const at = (lag: number) => r[Math.max(0, Math.min(r.length - 1, lag - firstLag))]!
  return 1 - Math.max(at(peak - away), at(peak + away)) / at(peak)
}

/** Highest correlation and the parabola's peak there. */
function climbed({ r, overlap, firstLag }: Correlation): Peak {
  let peak = 0
  for (let k = 1; k < r.length; k++) if (r[k]! > r[peak]! || Number.isNaN(r[peak])) peak = k
  const inside = peak > 0 && peak < r.length - 1
  const shift = inside ? parabolaPeak(r[peak - 1]!, r[peak]!, r[peak + 1]!) : 0
  return { lag: firstLag + peak, shift, r: r[peak]!, overlap: overlap[peak]! }
}

function atEvenRate(setpoint: ArrayLike<number>, gyro: ArrayLike<number>, options: LagOptions) {
  const { t_s, rate_hz } = options
  if (!t_s) return { ...asSamples(setpoint, gyro), rate_hz, finer: 1 }
  const source_hz = meanRate_hz(t_s) || rate_hz
  const finer = Math.max(1, Math.ceil(FINE_RATE_HZ / source_hz))
  // Both series lie on the same stamps, so what these are off an even clock shifts no lag.
  if (finer === 1 && (options.even ?? isEven(t_s)))
    return { ...asSamples(setpoint, gyro), rate_hz: source_hz, finer }
  const fine_hz = source_hz * finer
  return {
    u: toUniform(t_s, setpoint, { rate_hz: fine_hz }).samples,
    y: toUniform(t_s, gyro, { rate_hz: fine_hz }).samples,
    rate_hz: fine_hz,
    finer,
  }
}

/** The series as they are where they are typed: copies of long ones cost more than the correlation. */
const asSamples = (setpoint: ArrayLike<number>, gyro: ArrayLike<number>): { u: Samples; y: Samples } => ({
  u: areSamples(setpoint) ? setpoint : new Float64Array(setpoint),
  y: areSamples(gyro) ? gyro : new Float64Array(gyro),
})

/** Stamps this close to an even clock, as a share of its step, are taken for one (our own limit). */
const EVEN = 0.05

/** Do all stamps lie where an even clock of their mean rate has them? */
export function isEven(t_s: ArrayLike<number>): boolean {
  const rate_hz = meanRate_hz(t_s) || 1
  let even = true
  inStretches(t_s.length, (from, to) => (even &&= isEvenFrom(t_s, rate_hz, from, to)))
  return even
}

function isEvenFrom(t_s: ArrayLike<number>, rate_hz: number, from: number, to: number): boolean {
  const from_s = t_s[0] ?? 0
  for (let n = from; n < to; n++) {
    const off = (t_s[n]! - from_s) * rate_hz - n
    if (!(off < EVEN && off > -EVEN)) return false
  }
  return true
}

/** How many samples have both values, and which of the series move at all. */
function lookThrough(u: Samples, y: Samples, known: boolean) {
  const whole = known || (isWhole(u) && isWhole(y))
  let pairs = u.length
  if (!whole) {
    pairs = 0
    for (let n = 0; n < u.length; n++) {
      const both = u[n]! + y[n]!
      if (both - both === 0) pairs++
    }
  }
  return { pairs, moves: { u: moves(u), y: moves(y) } }
}

/** Does any sample lie away from the first? Rounding of a constant in 32 bits is not movement. */
function moves(values: Samples): boolean {
  const first = values.findIndex((value) => value - value === 0)
  if (first < 0) return false
  const from = values[first]!
  return values.some((value) => Math.abs(value - from) > 1e-6 * Math.max(Math.abs(value), Math.abs(from)))
}

/** Samples per second at which the noise's memory is judged. */
const MEMORY_RATE_HZ = 250
/** Seconds over which it is followed. */
const MEMORY_S = 2

/**
 * Standard error of the lag, s; see `lag`. On means at about 250 Hz: what is faster is noise, and averaging it is what
 * the correlation does as well.
 */
function standardError_s({ u, y, rate_hz }: Means, lag_s: number, { doubles }: Scratch): number {
  const factor = Math.max(1, Math.round(rate_hz / MEMORY_RATE_HZ))
  const slow_hz = rate_hz / factor
  const demand = decimated(u, factor, [], doubles).samples
  const answer = decimated(y, factor, [], doubles).samples
  const count = answer.length
  // The demand as it stood lag_s ago, straight between means, and its slope.
  const delay = lag_s * slow_hz
  const whole = Math.floor(delay)
  const part = delay - whole
  const later = doubles(count).fill(NaN)
  for (let n = Math.max(0, whole + 1); n < Math.min(count, count + whole); n++) {
    later[n] = (1 - part) * demand[n - whole]! + part * demand[n - whole - 1]!
  }
  let pairs = 0
  let meanU = 0
  let meanY = 0
  const usable = (n: number) => {
    const both = later[n]! + answer[n]!
    return both - both === 0
  }
  for (let n = 0; n < count; n++) {
    if (!usable(n)) continue
    pairs++
    meanU += later[n]!
    meanY += answer[n]!
  }
  meanU /= pairs
  meanY /= pairs
  let uu = 0
  let uy = 0
  for (let n = 0; n < count; n++) {
    if (!usable(n)) continue
    uu += (later[n]! - meanU) ** 2
    uy += (later[n]! - meanU) * (answer[n]! - meanY)
  }
  const gain = uy / uu
  const noise = doubles(count).fill(0)
  const slope = doubles(count).fill(0)
  let slopes = 0
  for (let n = 1; n + 1 < count; n++) {
    if (!usable(n - 1) || !usable(n) || !usable(n + 1)) continue
    noise[n] = answer[n]! - meanY - gain * (later[n]! - meanU)
    slope[n] = 0.5 * (later[n + 1]! - later[n - 1]!) * slow_hz
    slopes += slope[n]! ** 2
  }
  if (!(slopes > 0 && uu > 0)) return Infinity
  const memory = Math.min(count >> 2, Math.round(MEMORY_S * slow_hz))
  const ofNoise = crossProducts(noise, noise, 0, memory)
  const ofSlope = crossProducts(slope, slope, 0, memory)
  let spread = 1
  for (let k = 1; k <= memory; k++) {
    const taper = 1 - k / (memory + 1)
    spread += (2 * taper * ofNoise[k]! * ofSlope[k]!) / (ofNoise[0]! * ofSlope[0]!)
  }
  // Smooth noise can make the sum negative by chance; half is the least believed.
  const inflation = Number.isFinite(spread) ? Math.max(0.5, spread) : 1
  return Math.sqrt((inflation * ofNoise[0]!) / pairs / (gain * gain * slopes))
}
