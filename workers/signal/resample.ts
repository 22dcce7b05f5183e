import { clockBreaks, meanRate_hz, MENDABLE_MISSING } from './clock-breaks.ts'

export interface UniformSeries {
  /** Time of the first sample. */
  readonly t0_s: number
  readonly rate_hz: number
  /** NaN inside gaps and beyond the ends. */
  readonly samples: Float32Array
}

export interface UniformOptions {
  /** The clock's mean rate when left out. */
  readonly rate_hz?: number
  /** First and last time of the new grid; the clock's own when left out. */
  readonly from_s?: number
  readonly to_s?: number
  /** At most so many lost samples in a row are interpolated over; 2 when left out. */
  readonly missing?: number
}

/**
 * A series with an uneven clock brought to an even one by straight lines between samples. Gaps of more than
 * `missing` lost samples stay empty (NaN), and so do stretches next to a NaN. Repeated stamps: the last one counts.
 * Straight lines cost amplitude: sinc^2(f/rate) with the rate of the source (see interpolationGain), 3 % at a tenth of the rate. Going down in
 * rate does not filter: what lies above half the new rate folds.
 */
export function toUniform(
  t_s: ArrayLike<number>,
  samples: ArrayLike<number>,
  options: UniformOptions = {},
): UniformSeries {
  const count = t_s.length
  if (samples.length !== count) throw new Error(`${count} stamps for ${samples.length} samples`)
  const rate_hz = options.rate_hz ?? meanRate_hz(t_s)
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  const t0_s = options.from_s ?? t_s[0] ?? NaN
  const end_s = options.to_s ?? t_s[count - 1] ?? NaN
  // A hair of tolerance: a grid of the mean rate ends on the last stamp, not one before it.
  const length = Math.max(0, Math.floor((end_s - t0_s) * rate_hz + 1e-6) + 1) || 0
  const uniform = new Float32Array(length).fill(NaN)
  const broken = new Set(clockBreaks(t_s, options.missing ?? MENDABLE_MISSING))
  let after = 0
  for (let n = 0; n < length; n++) {
    const t = t0_s + n / rate_hz
    while (after < count && t_s[after]! <= t) after++
    const before = after - 1
    const last = t_s[count - 1]!
    if (before < 0) continue
    if (after >= count) {
      if (t <= last + 1e-6 / rate_hz) uniform[n] = samples[count - 1]!
      continue
    }
    const share = (t - t_s[before]!) / (t_s[after]! - t_s[before]!)
    if (share === 0) uniform[n] = samples[before]!
    else if (!broken.has(after)) uniform[n] = samples[before]! + share * (samples[after]! - samples[before]!)
  }
  return { t0_s, rate_hz, samples: uniform }
}

/** Amplitude that straight-line interpolation leaves of a sine: sinc^2(f/rate), rate being the source's. */
export function interpolationGain(f_hz: number, rate_hz: number): number {
  const x = (Math.PI * f_hz) / rate_hz
  return x === 0 ? 1 : (Math.sin(x) / x) ** 2
}
