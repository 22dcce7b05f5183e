/** Inverse normal distribution by Acklam's rational approximation [from memory], relative error below 1.2e-9. */
export function normalQuantile(probability: number): number {
  if (!(probability > 0 && probability < 1))
    throw new Error(`probability must lie inside 0..1: ${probability}`)
  if (probability > 0.5) return -normalQuantile(1 - probability)
  if (probability < 0.02425) {
    const q = Math.sqrt(-2 * Math.log(probability))
    return (
      (((((-7.784894002430293e-3 * q - 0.3223964580411365) * q - 2.400758277161838) * q - 2.549732539343734) *
        q +
        4.374664141464968) *
        q +
        2.938163982698783) /
      ((((7.784695709041462e-3 * q + 0.3224671290700398) * q + 2.445134137142996) * q + 3.754408661907416) *
        q +
        1)
    )
  }
  const q = probability - 0.5
  const r = q * q
  return (
    ((((((-39.69683028665376 * r + 220.9460984245205) * r - 275.9285104469687) * r + 138.357751867269) * r -
      30.66479806614716) *
      r +
      2.506628277459239) *
      q) /
    (((((-54.47609879822406 * r + 161.5858368580409) * r - 155.6989798598866) * r + 66.80131188771972) * r -
      13.28068155288572) *
      r +
      1)
  )
}

/**
 * Quantile of Student's t with `dof` degrees of freedom by the expansion in 1/dof (Abramowitz & Stegun 26.7.5): relative
 * error below 2e-3 from 5 degrees on.
 */
export function studentQuantile(probability: number, dof: number): number {
  if (!(dof >= 3)) throw new Error(`degrees of freedom must be at least 3: ${dof}`)
  const z = normalQuantile(probability)
  const g1 = (z ** 3 + z) / 4
  const g2 = (5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96
  const g3 = (3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / 384
  const g4 = (79 * z ** 9 + 776 * z ** 7 + 1482 * z ** 5 - 1920 * z ** 3 - 945 * z) / 92160
  return z + g1 / dof + g2 / dof ** 2 + g3 / dof ** 3 + g4 / dof ** 4
}

/** Standard error of an estimate from its values with one group left out each: sqrt((G-1)/G sum (x_g - mean)^2). */
export function jackknifeError(without: ArrayLike<number>): number {
  const count = without.length
  let mean = 0
  for (let k = 0; k < count; k++) mean += without[k]! / count
  let squares = 0
  for (let k = 0; k < count; k++) squares += (without[k]! - mean) ** 2
  return Math.sqrt(((count - 1) / count) * squares)
}
