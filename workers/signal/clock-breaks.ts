/** A step of the clock longer than this many medians is a gap (method: clock). */
export const GAP_MEDIANS = 1.5

/** Missing samples that may be interpolated; longer gaps stay empty. */
export const MENDABLE_MISSING = 2

/** Median of the finite steps of a clock, s. NaN when there are fewer than two stamps. */
export function medianStep_s(t_s: ArrayLike<number>): number {
  const steps: number[] = []
  for (let n = 1; n < t_s.length; n++) {
    const step = t_s[n]! - t_s[n - 1]!
    if (step > 0) steps.push(step)
  }
  if (steps.length === 0) return NaN
  steps.sort((a, b) => a - b)
  const middle = steps.length >> 1
  return steps.length % 2 === 1 ? steps[middle]! : 0.5 * (steps[middle - 1]! + steps[middle]!)
}

/** (N-1)/(tN-t1), the rate that spectra and lags use, Hz. NaN with fewer than two stamps. */
export function meanRate_hz(t_s: ArrayLike<number>): number {
  const count = t_s.length
  return count < 2 ? NaN : (count - 1) / (t_s[count - 1]! - t_s[0]!)
}

/**
 * Indices of samples before which more than `missing` samples are lost: round(dt/median) - 1 > missing.
 * Pass 0 to get every gap of at least one lost sample.
 */
export function clockBreaks(t_s: ArrayLike<number>, missing = MENDABLE_MISSING): Int32Array {
  const median_s = medianStep_s(t_s)
  const found: number[] = []
  for (let n = 1; n < t_s.length; n++) {
    const step = t_s[n]! - t_s[n - 1]!
    if (step > GAP_MEDIANS * median_s && Math.round(step / median_s) - 1 > missing) found.push(n)
  }
  return Int32Array.from(found)
}
