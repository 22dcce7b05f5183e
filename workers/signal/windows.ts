/**
 * Windows and their figures. All are periodic: the sample that would repeat the first one is left off,
 * as is right for spectra. Harris, Proc. IEEE 66(1), 1978 names the figures.
 */
export const WINDOWS = ['rectangular', 'hann', 'hamming', 'blackman'] as const
export type WindowName = (typeof WINDOWS)[number]

/** Coefficients a0, a1, a2 of a0 - a1 cos(x) + a2 cos(2x). */
const COSINES: Record<WindowName, readonly [number, number, number]> = {
  rectangular: [1, 0, 0],
  hann: [0.5, 0.5, 0],
  hamming: [0.54, 0.46, 0],
  blackman: [0.42, 0.5, 0.08],
}

/** Windows that were asked for: spectra of a flight need the same few again and again. */
const known = new Map<string, Float64Array>()
const MOST_WINDOWS = 16

/** `size` samples of the window, its maximum of 1 at index size/2. Kept for the next who asks: not to be written to. */
export function windowSamples(name: WindowName, size: number): Float64Array {
  if (!Number.isInteger(size) || size < 1)
    throw new Error(`window length must be a positive integer: ${size}`)
  const kept = known.get(`${name}/${size}`)
  if (kept) return kept
  const [a0, a1, a2] = COSINES[name]
  const samples = new Float64Array(size)
  for (let n = 0; n < size; n++) {
    const x = (2 * Math.PI * n) / size
    samples[n] = a0 - a1 * Math.cos(x) + a2 * Math.cos(2 * x)
  }
  if (known.size >= MOST_WINDOWS) known.clear()
  known.set(`${name}/${size}`, samples)
  return samples
}

function sum(samples: Float64Array): number {
  let total = 0
  for (let n = 0; n < samples.length; n++) total += samples[n]!
  return total
}

function sumOfSquares(samples: Float64Array): number {
  let total = 0
  for (let n = 0; n < samples.length; n++) total += samples[n]! * samples[n]!
  return total
}

/** Equivalent noise bandwidth in bins: N sum(w^2) / (sum w)^2. */
export function noiseBandwidth_bins(window: Float64Array): number {
  return (window.length * sumOfSquares(window)) / sum(window) ** 2
}

/** Sum of w^2, by which a density is divided (with the sample rate). */
export function windowPower(window: Float64Array): number {
  return sumOfSquares(window)
}

/** Sum of w, whose square an amplitude spectrum is divided by. */
export function windowSum(window: Float64Array): number {
  return sum(window)
}

/** How much lower a sine midway between two bins reads than one on a bin, in dB (a positive number). */
export function scallopingLoss_db(window: Float64Array): number {
  return -20 * Math.log10(responseAt(window, 0.5) / sum(window))
}

/** |W(f)| at a frequency given in bins. */
export function responseAt(window: Float64Array, f_bins: number): number {
  let re = 0
  let im = 0
  for (let n = 0; n < window.length; n++) {
    const angle = (2 * Math.PI * f_bins * n) / window.length
    re += window[n]! * Math.cos(angle)
    im += window[n]! * Math.sin(angle)
  }
  return Math.hypot(re, im)
}

/** Correlation of two segments' windows that start `hop` samples apart: sum w[n] w[n+hop] / sum w^2. */
export function overlapCorrelation(window: Float64Array, hop: number): number {
  let shared = 0
  for (let n = 0; n + hop < window.length; n++) shared += window[n]! * window[n + hop]!
  return shared / sumOfSquares(window)
}
