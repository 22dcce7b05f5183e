import { meanRate_hz } from '../signal/clock-breaks.ts'
import { correlate, crossProducts, parabolaPeak } from '../signal/correlate.ts'
import { decimated } from '../signal/decimate.ts'
import { toUniform } from '../signal/resample.ts'

export interface LagOptions {
  readonly rate_hz: number
  /** Shifts up to this are tried, both ways; 0.25 s when left out. */
  readonly maxLag_s?: number
  /** Stamps of the samples. With them, slow or uneven logs are brought to an even 0.5 to 1 kHz first. */
  readonly t_s?: ArrayLike<number>
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
  const usable = countPairs(u, y) / finer
  if (usable < MIN_SAMPLES || usable < 2 * maxLag_s * options.rate_hz) {
    return refuse(`Lag needs more flight: only ${Math.round(usable)} samples have both setpoint and gyro.`)
  }
  if (isConstant(u))
    return refuse('The setpoint does not move in this span, so the gyro has nothing to lag behind.')
  if (isConstant(y)) return refuse('The gyro does not move in this span.')
  const { r, overlap } = correlate(u, y, -reach, reach)
  let peak = 0
  for (let k = 1; k < r.length; k++) if (r[k]! > r[peak]! || Number.isNaN(r[peak])) peak = k
  const peak_r = r[peak]!
  if (!(peak_r >= MIN_CORRELATION)) {
    return refuse(
      `The gyro follows the setpoint too loosely to tell a lag (correlation ${(peak_r || 0).toFixed(2)}).`,
    )
  }
  if (peak === 0 || peak === r.length - 1) {
    return refuse(
      `No peak within ${Math.round(maxLag_s * 1000)} ms: the best match lies at the end of the range.`,
    )
  }
  const shift = peak - reach + parabolaPeak(r[peak - 1]!, peak_r, r[peak + 1]!)
  const halfWidth_s = 1.96 * standardError_s(u, y, peak - reach, rate_hz)
  const away = Math.max(1, Math.round(FLAT_SHIFT_S * rate_hz))
  const left = r[Math.max(0, peak - away)]!
  const right = r[Math.min(r.length - 1, peak + away)]!
  return {
    kind: 'lag',
    lag_s: shift / rate_hz,
    r: peak_r,
    low_s: shift / rate_hz - halfWidth_s,
    high_s: shift / rate_hz + halfWidth_s,
    flat: 1 - Math.max(left, right) / peak_r < FLAT_LOSS,
    n: Math.round(overlap[peak]! / finer),
  }
}

function atEvenRate(setpoint: ArrayLike<number>, gyro: ArrayLike<number>, options: LagOptions) {
  const { t_s, rate_hz } = options
  if (!t_s) return { u: Float64Array.from(setpoint), y: Float64Array.from(gyro), rate_hz, finer: 1 }
  const source_hz = meanRate_hz(t_s) || rate_hz
  const finer = Math.max(1, Math.ceil(FINE_RATE_HZ / source_hz))
  const fine_hz = source_hz * finer
  return {
    u: Float64Array.from(toUniform(t_s, setpoint, { rate_hz: fine_hz }).samples),
    y: Float64Array.from(toUniform(t_s, gyro, { rate_hz: fine_hz }).samples),
    rate_hz: fine_hz,
    finer,
  }
}

function countPairs(u: ArrayLike<number>, y: ArrayLike<number>): number {
  let count = 0
  for (let n = 0; n < u.length; n++) if (Number.isFinite(u[n]! + y[n]!)) count++
  return count
}

function isConstant(samples: ArrayLike<number>): boolean {
  let low = Infinity
  let high = -Infinity
  for (let n = 0; n < samples.length; n++) {
    if (samples[n]! < low) low = samples[n]!
    if (samples[n]! > high) high = samples[n]!
  }
  // Rounding of a constant in 32 bits is not movement.
  return !(high - low > 1e-6 * Math.max(Math.abs(low), Math.abs(high)))
}

/** Samples per second at which the noise's memory is judged. */
const MEMORY_RATE_HZ = 250
/** Seconds over which it is followed. */
const MEMORY_S = 2

/** Standard error of the lag, s; see `lag`. */
function standardError_s(u: Float64Array, y: Float64Array, shift: number, rate_hz: number): number {
  const from = Math.max(0, -shift)
  const to = Math.min(u.length, y.length - shift)
  let count = 0
  let meanU = 0
  let meanY = 0
  for (let n = from; n < to; n++) {
    const pair = u[n]! + y[n + shift]!
    if (pair - pair !== 0) continue
    meanU += u[n]!
    meanY += y[n + shift]!
    count++
  }
  meanU /= count
  meanY /= count
  let uu = 0
  let uy = 0
  for (let n = from; n < to; n++) {
    const pair = u[n]! + y[n + shift]!
    if (pair - pair !== 0) continue
    uu += (u[n]! - meanU) ** 2
    uy += (u[n]! - meanU) * (y[n + shift]! - meanY)
  }
  const gain = uy / uu
  const residual = new Float64Array(to - from)
  for (let n = from; n < to; n++) residual[n - from] = y[n + shift]! - meanY - gain * (u[n]! - meanU)
  const factor = Math.max(1, Math.round(rate_hz / MEMORY_RATE_HZ))
  const slow_hz = rate_hz / factor
  const noise = decimated(residual, factor).samples
  const smooth = decimated(u.subarray(from, to), factor).samples
  const slope = new Float64Array(noise.length)
  let slopes = 0
  let pairs = 0
  for (let n = 1; n + 1 < noise.length; n++) {
    slope[n] = 0.5 * (smooth[n + 1]! - smooth[n - 1]!) * slow_hz
    const usable = noise[n]! + slope[n]!
    if (usable - usable !== 0) continue
    slopes += slope[n]! ** 2
    pairs++
  }
  for (let n = 0; n < noise.length; n++) {
    const usable = noise[n]! + slope[n]!
    if (usable - usable !== 0) noise[n] = slope[n] = 0
  }
  if (!(slopes > 0 && uu > 0)) return Infinity
  const memory = Math.min(noise.length >> 2, Math.round(MEMORY_S * slow_hz))
  const ofNoise = crossProducts(noise, noise, 0, memory)
  const ofSlope = crossProducts(slope, slope, 0, memory)
  let spread = 1
  for (let k = 1; k <= memory; k++) {
    const taper = 1 - k / (memory + 1)
    spread += (2 * taper * ofNoise[k]! * ofSlope[k]!) / (ofNoise[0]! * ofSlope[0]!)
  }
  // Smooth noise can make the sum negative by chance; half is the least believed.
  const inflation = Number.isFinite(spread) ? Math.max(0.5, spread) : 1
  const noisePower = ofNoise[0]! / pairs
  return Math.sqrt((inflation * noisePower) / (gain * gain * slopes))
}
