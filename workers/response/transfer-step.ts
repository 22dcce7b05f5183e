import { realFft } from '../signal/fft.ts'
import {
  coherence,
  coherenceThreshold,
  h1,
  type CrossSpectra,
  type Transfer,
} from '../signal/cross-spectra.ts'

/** How much of the time before the step is shown and added up, s: estimates blur to both sides. */
export const BEFORE_S = 0.05
/** Length of curves after the step. */
export const AFTER_S = 0.5

/** The last frequency up to which the coherence stays above its threshold, from the lowest bins on; 0 if none. */
export function lastCoherent_hz(spectra: CrossSpectra, limit = coherenceThreshold(spectra.averages)): number {
  const g2 = coherence(spectra)
  let last = 0
  let misses = 0
  for (let k = 1; k < g2.length; k++) {
    if (g2[k]! > limit) {
      last = spectra.f_hz[k]!
      misses = 0
    } else if (++misses > 2) break
  }
  return last
}

/** Estimator (b): H1, faded out by a cosine between 0.7 of the last coherent frequency and that frequency. */
export function taperedTransfer(spectra: CrossSpectra, last_hz: number): Transfer {
  const raw = h1(spectra)
  const fade = (f: number) => {
    if (f <= 0.7 * last_hz) return 1
    return f >= last_hz ? 0 : 0.5 + 0.5 * Math.cos((Math.PI * (f - 0.7 * last_hz)) / (0.3 * last_hz))
  }
  return {
    f_hz: raw.f_hz,
    re: raw.re.map((value, k) => value * fade(raw.f_hz[k]!)),
    im: raw.im.map((value, k) => value * fade(raw.f_hz[k]!)),
  }
}

/**
 * The answer to a unit step at time 0 from -BEFORE_S to length_s, one value per 1/(finer rate): the cumulative sum of
 * the inverse transform, drawn `finer` times as fine as the samples by zeros above their highest frequency.
 * `segmentLength` is that of the transfer function's spectra.
 */
export function stepOf(
  transfer: Transfer,
  segmentLength: number,
  rate_hz: number,
  length_s: number,
  finer = 1,
): Float64Array {
  const size = segmentLength * finer
  const plan = realFft(size)
  const impulse = new Float64Array(size)
  const re = new Float64Array(plan.bins)
  const im = new Float64Array(plan.bins)
  re.set(transfer.re)
  im.set(transfer.im)
  im[0] = 0
  // What stands at half the rate has no phase, and counts once here where it stood for two.
  const top = transfer.re.length - 1
  if (segmentLength % 2 === 0) {
    im[top] = 0
    if (finer > 1) re[top]! *= 0.5
  }
  plan.inverse(re, im, impulse)
  const before = Math.round(BEFORE_S * rate_hz * finer)
  const length = before + Math.round(length_s * rate_hz * finer) + 1
  if (length > size) throw new Error(`step of ${length} samples from segments of ${size}`)
  const step = new Float64Array(length)
  let sum = 0
  for (let n = 0; n < length; n++) {
    // Half of a sample's share lies before its time: without this the curve would come half a sample early.
    const share = impulse[(n - before + size) % size]!
    step[n] = sum + 0.5 * share
    sum += share
  }
  return step
}
