import { inStretches } from './stretches.ts'
import { GAP_MEDIANS, medianStep_s } from '../clock/clock.ts'

/** Missing samples that may be interpolated; longer gaps stay empty. */
export const MENDABLE_MISSING = 2

/** Shortest (above zero) and longest step of the stamps from..to (not included). */
function lookAtSteps(
  stamps: Float64Array,
  steps: { shortest: number; longest: number },
  from: number,
  to: number,
): void {
  let { shortest, longest } = steps
  for (let n = from; n < to; n++) {
    const step = stamps[n]! - stamps[n - 1]!
    if (step > longest) longest = step
    if (step > 0 && step < shortest) shortest = step
  }
  steps.shortest = shortest
  steps.longest = longest
}

/** (N-1)/(tN-t1), the rate that spectra and lags use, Hz. NaN with fewer than two stamps. */
export function meanRate_hz(t_s: ArrayLike<number>): number {
  const count = t_s.length
  return count < 2 ? NaN : (count - 1) / (t_s[count - 1]! - t_s[0]!)
}

/**
 * Indices of samples before which more than `missing` samples are lost: round(dt/median) - 1 > missing, with the median
 * of the steps longer than zero. Pass 0 to get every gap of at least one lost sample. A clock whose longest step could be no
 * gap by its shortest one is told in one pass: every analysis of every span asks this.
 */
export function clockBreaks(t_s: ArrayLike<number>, missing = MENDABLE_MISSING): Int32Array {
  const stamps = t_s instanceof Float64Array ? t_s : new Float64Array(t_s)
  const least = Math.max(GAP_MEDIANS, missing + 1.5)
  const steps = { shortest: Infinity, longest: 0 }
  inStretches(stamps.length - 1, (from, to) => lookAtSteps(stamps, steps, from + 1, to + 1))
  const { shortest, longest } = steps
  // The median is no shorter than the shortest step.
  if (longest < least * shortest) return new Int32Array(0)
  const median_s = medianStep_s(stamps)
  const found: number[] = []
  for (let n = 1; n < stamps.length; n++) {
    const step = stamps[n]! - stamps[n - 1]!
    if (step > GAP_MEDIANS * median_s && Math.round(step / median_s) - 1 > missing) found.push(n)
  }
  return Int32Array.from(found)
}
