/** Mean with a second pass that takes off what rounding left. NaN for no values. */
export function mean(values: ArrayLike<number>): number {
  const count = values.length
  if (count === 0) return NaN
  let sum = 0
  for (let k = 0; k < count; k++) sum += values[k]!
  const first = sum / count
  let rest = 0
  for (let k = 0; k < count; k++) rest += values[k]! - first
  return first + rest / count
}

/**
 * Variance with n - 1, by the corrected two-pass algorithm (Chan, Golub, LeVeque, Am. Stat. 37, 1983 [from memory]):
 * sum of squares minus square of sums would go negative for large means. NaN for fewer than two values.
 */
export function variance(values: ArrayLike<number>): number {
  const count = values.length
  if (count < 2) return NaN
  const middle = mean(values)
  let squares = 0
  let rest = 0
  for (let k = 0; k < count; k++) {
    const away = values[k]! - middle
    squares += away * away
    rest += away
  }
  return (squares - (rest * rest) / count) / (count - 1)
}

export const standardDeviation = (values: ArrayLike<number>): number => Math.sqrt(variance(values))

/** Middle value, mean of the two middle ones for an even count. NaN for none, or when one is NaN. */
export function median(values: ArrayLike<number>): number {
  return sortedMedian(Float64Array.from(values).sort())
}

/** The median of values already in order. */
export function sortedMedian(sorted: ArrayLike<number>): number {
  const count = sorted.length
  if (count === 0 || Number.isNaN(sorted[count - 1]!)) return NaN
  const half = count >> 1
  return count % 2 === 1 ? sorted[half]! : 0.5 * (sorted[half - 1]! + sorted[half]!)
}

/** Makes the median absolute deviation of normal values their standard deviation. */
export const MAD_TO_SD = 1.4826

/** 1.4826 times the median distance from the median: a standard deviation that outliers leave alone. */
export function robustSd(values: ArrayLike<number>): number {
  const middle = median(values)
  return MAD_TO_SD * median(Float64Array.from(values, (value) => Math.abs(value - middle)))
}

/**
 * Quantile by straight lines between order statistics at (n-1) p (type 7 of Hyndman & Fan 1996 [from memory], what R and
 * NumPy give unasked). `sorted` in rising order.
 */
export function quantile(sorted: ArrayLike<number>, probability: number): number {
  const count = sorted.length
  if (count === 0) return NaN
  const at = Math.min(count - 1, Math.max(0, probability * (count - 1)))
  const low = Math.floor(at)
  const high = Math.min(count - 1, low + 1)
  const share = at - low
  return (1 - share) * sorted[low]! + share * sorted[high]!
}
