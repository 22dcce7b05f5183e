import { fitRing } from '../fit/ring-and-recovery.ts'
import { decimated } from '../signal/decimate.ts'

/** What a craft does after a stop. Plain data; null where it can't be given. */
export interface BounceBack {
  /** Which shape explains it best by BIC. */
  readonly shape: 'none' | 'ring' | 'slow' | 'ring and slow'
  /** Largest swing back past the setpoint, deg/s, as measured; 0 or more. */
  readonly peak_dps: number
  /** How far that swing turns the craft back, deg. */
  readonly angle_deg: number
  readonly ringFrequency_hz: number | null
  readonly dampingRatio: number | null
  /** Size of the ring at the stop, deg/s. */
  readonly ring_dps: number | null
  /** Size, deg/s, and time constant, s, of the slow recovery. */
  readonly slow_dps: number | null
  readonly slow_s: number | null
  /** The logged I-term relaxes along with the slow recovery; null without an I-term or a slow part. */
  readonly iTermRelaxes: boolean | null
  /** From the stop until |gyro - setpoint| stays small; null when it does not within the window. */
  readonly settle_s: number | null
  /** Share of the variance that the fit explains. */
  readonly explained: number
  /** The stretch fitted: times from the stop on, gyro minus setpoint, and the fit over it. For the picture. */
  readonly t_s: readonly number[]
  readonly data_dps: readonly number[]
  readonly fit_dps: readonly number[]
}

export interface Stop {
  /** deg/s, on an even clock. */
  readonly setpoint: ArrayLike<number>
  readonly gyro: ArrayLike<number>
  /** The logged I-term, where there is one; in any scale. */
  readonly iTerm?: ArrayLike<number> | null
  readonly rate_hz: number
  /** Sample of the stop, may lie between two. */
  readonly at: number
  /** First sample not to be looked at. */
  readonly end: number
  /** Sign of the setpoint on the stroke that is stopped. */
  readonly direction: 1 | -1
  /** How much later the gyro does what it is told, s: what the hand still moves after the stop then costs nothing. */
  readonly lag_s: number
}

/** Settled: within this of the setpoint (common practice, no source). */
export const SETTLED_DPS = 15
/** A ring is told of when the fit explains this much and the ring is no smaller than that. */
const TELLING = { explained: 0.5, ring_dps: 5 }
/** Peaks are read from means of this length: a single sample's noise is no swing. */
const SMOOTH_S = 0.012

/**
 * What the gyro does after a stop, less what it was told (the setpoint of lag_s earlier): peak and angle of the swing
 * back as measured, and a fit of a decaying ring and a slow recovery (see ring-and-recovery.ts). Null when fewer than 12
 * samples, less than 0.12 s, or a NaN lie between the stop and the end.
 */
export function bounceBack(stop: Stop): BounceBack | null {
  const { setpoint, gyro, rate_hz, direction } = stop
  const start = Math.ceil(stop.at + stop.lag_s * rate_hz)
  const count = Math.min(stop.end, gyro.length) - start
  if (count < (rate_hz >= 400 ? 24 : 12) || count < 0.12 * rate_hz) return null
  const rest = new Float64Array(count)
  for (let n = 0; n < count; n++) {
    const back = start + n - stop.lag_s * rate_hz
    const whole = Math.floor(back)
    const share = back - whole
    const told = (1 - share) * setpoint[whole]! + share * (setpoint[whole + 1] ?? NaN)
    rest[n] = direction * (gyro[start + n]! - told)
  }
  if (rest.some((value) => !Number.isFinite(value))) return null
  const smooth = smoothed(rest, Math.max(1, Math.round(SMOOTH_S * rate_hz)))
  const { peak_dps, angle_deg } = swingBack(smooth, rate_hz)
  // Half of 500 Hz is plenty for a ring of up to 45 Hz, and fits in half the time.
  const factor = rate_hz >= 400 ? 2 : 1
  const fitted = factor > 1 ? decimated(rest, factor).samples : rest
  const fit = fitRing(fitted, rate_hz / factor)
  const tells =
    fit.ring !== null && fit.explained >= TELLING.explained && fit.ring.amplitude >= TELLING.ring_dps
  const lag_samples = start - stop.at
  return {
    shape: fit.shape,
    peak_dps,
    angle_deg,
    ringFrequency_hz: tells ? fit.ring!.frequency_hz : null,
    dampingRatio: tells ? fit.ring!.dampingRatio : null,
    ring_dps: fit.ring?.amplitude ?? null,
    slow_dps: fit.slow?.amplitude ?? null,
    slow_s: fit.slow?.time_s ?? null,
    iTermRelaxes:
      stop.iTerm && fit.slow
        ? relaxesWith(stop.iTerm, start, count, direction, fit.slow.amplitude, fit.slow.time_s * rate_hz)
        : null,
    settle_s: settledAfter(smooth, rate_hz, lag_samples),
    explained: fit.explained,
    t_s: Array.from(fitted, (_, n) => (lag_samples + n * factor + 0.5 * (factor - 1)) / rate_hz),
    data_dps: Array.from(fitted, (value) => direction * value),
    fit_dps: Array.from(fit.curve, (value) => direction * value),
  }
}

/** Least correlation of an I-term with the slow recovery that it is to have caused (own limit, no source). */
const RELAXES = 0.7

/**
 * Whether an I-term goes the way of a slow recovery amplitude e^(-n/time): an integrator that was wound up pushes the
 * craft its own way while it unwinds. False where it holds a NaN or stands still.
 */
function relaxesWith(
  iTerm: ArrayLike<number>,
  from: number,
  count: number,
  direction: 1 | -1,
  amplitude: number,
  time_samples: number,
): boolean {
  let sums = [0, 0, 0, 0, 0] as [number, number, number, number, number]
  for (let n = 0; n < count; n++) {
    const x = amplitude * Math.exp(-n / time_samples)
    const y = direction * iTerm[from + n]!
    sums = [sums[0] + x, sums[1] + y, sums[2] + x * x, sums[3] + y * y, sums[4] + x * y]
  }
  const [x, y, xx, yy, xy] = sums
  const spread = Math.sqrt((xx - (x * x) / count) * (yy - (y * y) / count))
  return spread > 0 && (xy - (x * y) / count) / spread > RELAXES
}

/** Mean of `size` samples round each (fewer at the ends). */
function smoothed(values: Float64Array, size: number): Float64Array {
  if (size < 2) return values
  const before = (size - 1) >> 1
  return values.map((_, n) => {
    let sum = 0
    const from = Math.max(0, n - before)
    const to = Math.min(values.length, n - before + size)
    for (let k = from; k < to; k++) sum += values[k]!
    return sum / (to - from)
  })
}

/** The largest swing against the turn, and its area from where it crosses zero to where it does again. */
function swingBack(values: Float64Array, rate_hz: number): { peak_dps: number; angle_deg: number } {
  let at = 0
  for (let n = 1; n < values.length; n++) if (values[n]! < values[at]!) at = n
  if (!(values[at]! < 0)) return { peak_dps: 0, angle_deg: 0 }
  let sum = 0
  for (let n = at; n >= 0 && values[n]! < 0; n--) sum -= values[n]!
  for (let n = at + 1; n < values.length && values[n]! < 0; n++) sum -= values[n]!
  return { peak_dps: -values[at]!, angle_deg: sum / rate_hz }
}

function settledAfter(values: Float64Array, rate_hz: number, lag_samples: number): number | null {
  let last = values.length
  while (last > 0 && Math.abs(values[last - 1]!) <= SETTLED_DPS) last--
  // Settled only at the very end is not settled.
  if (last > values.length - 0.03 * rate_hz) return null
  return (lag_samples + last) / rate_hz
}
