import { meanRate_hz } from '../signal/clock-breaks.ts'
import { toUniform } from '../signal/resample.ts'

/**
 * A series on an even grid of at most `rate_hz`, for comparing flights of different rates: cells of a faster
 * series are means (so that nothing folds), a slower one is drawn in by straight lines. NaN where nothing is known.
 * Grid point n stands for t_s[0] + n / rate_hz; a mean may lie half a sample of the source off that.
 */
export function onGrid(t_s: ArrayLike<number>, samples: ArrayLike<number>, rate_hz: number): Float64Array {
  if (t_s.length !== samples.length) throw new Error(`${t_s.length} stamps for ${samples.length} samples`)
  if (!(meanRate_hz(t_s) > 1.5 * rate_hz)) {
    return Float64Array.from(toUniform(t_s, samples, { rate_hz }).samples)
  }
  const start_s = t_s[0]!
  const length = Math.floor((t_s[t_s.length - 1]! - start_s) * rate_hz + 1e-6) + 1
  const sums = new Float64Array(length)
  const counts = new Float64Array(length)
  for (let n = 0; n < t_s.length; n++) {
    const cell = Math.round((t_s[n]! - start_s) * rate_hz)
    if (cell >= length || !Number.isFinite(samples[n])) continue
    sums[cell]! += samples[n]!
    counts[cell]! += 1
  }
  return sums.map((sum, cell) => (counts[cell]! > 0 ? sum / counts[cell]! : NaN))
}

/**
 * The series with its rarest 1 % cut off at either end (spikes and the nonsense before take-off would rule a
 * correlation), brought to mean 0 and standard deviation 1. NaN stays NaN. Null when it does not move.
 */
export function standardised(samples: Float64Array): Float64Array | null {
  const finite = samples.filter((value) => Number.isFinite(value)).sort()
  if (finite.length < 2) return null
  const low = finite[Math.floor(0.005 * (finite.length - 1))]!
  const high = finite[Math.ceil(0.995 * (finite.length - 1))]!
  // Rounding of a constant in 32 bits is not movement.
  if (!(high - low > 1e-6 * Math.max(Math.abs(low), Math.abs(high)))) return null
  const clipped = samples.map((value) => Math.min(high, Math.max(low, value)))
  let sum = 0
  let squares = 0
  for (const value of clipped) {
    if (!Number.isFinite(value)) continue
    sum += value
    squares += value * value
  }
  const mean = sum / finite.length
  const deviation = Math.sqrt(Math.max(0, squares / finite.length - mean * mean))
  return deviation > 0 ? clipped.map((value) => (value - mean) / deviation) : null
}
