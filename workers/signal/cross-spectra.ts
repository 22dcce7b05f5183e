import { Problem } from '../log/problems.ts'
import { complexFft } from './fft.ts'
import { kernelCross, kernelCrosses } from './kernel/spectra-kernel.ts'
import {
  binFrequencies_hz,
  detrendInPlace,
  hopFor,
  oneSidedFactor,
  runsOf,
  segmentStarts,
  type Detrend,
} from './segments.ts'
import { difference } from './arithmetic.ts'
import { degreesOfFreedom, type WelchOptions } from './welch.ts'
import { windowPower, windowSamples } from './windows.ts'

/** One-sided densities of two series and between them, averaged over segments; see `crossSpectra`. */
export interface CrossSpectra {
  readonly f_hz: Float64Array
  readonly uu: Float64Array
  readonly yy: Float64Array
  /** conj(U) Y: the phase is that of y against u. */
  readonly uyRe: Float64Array
  readonly uyIm: Float64Array
  readonly segments: number
  /** Effective averages L: half the degrees of freedom, fewer than the segments where they overlap. */
  readonly averages: number
  readonly segmentLength: number
  readonly rate_hz: number
}

/**
 * Cross-spectra by Welch's method, as scipy.signal.csd and welch give them. u and y of equal length; a segment with a
 * NaN in either, or over a break, takes no part. Both are transformed at once, as the parts of one complex series.
 * Throws Problem 'too-short' when no segment fits.
 */
export function crossSpectra(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  options: CrossOptions,
): CrossSpectra {
  return averageOf(segmentedSpectra(u, y, options, 1))
}

/** Sums over groups of neighbouring segments, from which averages without one group can be formed. */
export interface SegmentedSpectra {
  readonly rate_hz: number
  readonly segmentLength: number
  readonly hop: number
  readonly starts: readonly number[]
  readonly window: Float64Array
  readonly sums: readonly SpectraSum[]
}

export interface SpectraSum {
  readonly starts: readonly number[]
  readonly uu: Float64Array
  readonly yy: Float64Array
  readonly uyRe: Float64Array
  readonly uyIm: Float64Array
}

export interface CrossOptions extends WelchOptions {
  /** True: spectra of the steps from each sample to the next, see `stepsOf`. `runs` must be given, and be the steps'. */
  readonly ofSteps?: boolean
}

/** Steps to each sample from the one before; 0 for the first. */
export function stepsOf(samples: ArrayLike<number>): Float64Array {
  const steps = new Float64Array(samples.length)
  for (let n = 1; n < steps.length; n++) steps[n] = samples[n]! - samples[n - 1]!
  return steps
}

/** Segment spectra summed in at most `groups` runs of neighbouring segments (for the jackknife). */
export function segmentedSpectra(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  options: CrossOptions,
  groups: number,
): SegmentedSpectra {
  const { rate_hz, segment, overlap = 0.5, detrend = 'constant' } = options
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  const hop = hopFor(segment, overlap)
  const starts = segmentStarts(options.runs ?? runsOf([u, y], options.breaks), segment, hop)
  if (starts.length === 0) {
    throw new Problem(
      'too-short',
      `A spectrum needs ${segment} samples in a row without a gap; there are fewer.`,
    )
  }
  const window = windowSamples(options.window ?? 'hann', segment)
  const kernel = options.single === true && detrend !== 'linear' && kernelCrosses(segment)
  const count = Math.min(groups, starts.length)
  const bins = Math.floor(segment / 2) + 1
  const sums = Array.from({ length: count }, (_, group): SpectraSum => ({
    starts: starts.slice(
      Math.round((group * starts.length) / count),
      Math.round(((group + 1) * starts.length) / count),
    ),
    uu: new Float64Array(bins),
    yy: new Float64Array(bins),
    uyRe: new Float64Array(bins),
    uyIm: new Float64Array(bins),
  }))
  const ofSteps = options.ofSteps === true
  if (kernel) kernelCross(u, y, sums, window, detrend === 'constant', ofSteps)
  else {
    const transform = pairTransform(window, detrend)
    const [a, b] = ofSteps ? [stepsOf(u), stepsOf(y)] : [u, y]
    for (const sum of sums) for (const start of sum.starts) transform(a, b, start, sum)
  }
  return { rate_hz, segmentLength: segment, hop, starts, window, sums }
}

/** The average over all groups, scaled to densities. */
export function averageOf(whole: SegmentedSpectra): CrossSpectra {
  return scaled(
    whole,
    whole.sums.flatMap((group) => group.starts),
    (part) => totalOf(whole, part),
  )
}

/** Cross-spectral densities alone, as `CrossSpectra` has them. */
export type Cross = Pick<CrossSpectra, 'uyRe' | 'uyIm'>

/** The cross-spectra of `averagesWithoutEach`, where nothing else is asked for. */
export function crossesWithoutEach(whole: SegmentedSpectra): Cross[] {
  const { sums, window, rate_hz, segmentLength } = whole
  const total = { uyRe: totalOf(whole, 'uyRe'), uyIm: totalOf(whole, 'uyIm') }
  return sums.map((left): Cross => {
    const scale = 1 / (rate_hz * windowPower(window) * (whole.starts.length - left.starts.length))
    const density = (part: 'uyRe' | 'uyIm') =>
      densityOf(difference(total[part], left[part]), scale, segmentLength)
    return { uyRe: density('uyRe'), uyIm: density('uyIm') }
  })
}

/** The average over all groups but each in turn, as the jackknife needs them. Needs two groups at least. */
export function averagesWithoutEach(whole: SegmentedSpectra): CrossSpectra[] {
  if (whole.sums.length < 2) throw new Error('leaving a group out takes two groups')
  const totals = {
    uu: totalOf(whole, 'uu'),
    yy: totalOf(whole, 'yy'),
    uyRe: totalOf(whole, 'uyRe'),
    uyIm: totalOf(whole, 'uyIm'),
  }
  return whole.sums.map((left) =>
    scaled(
      whole,
      whole.sums.flatMap((group) => (group === left ? [] : group.starts)),
      (part) => difference(totals[part], left[part]),
    ),
  )
}

type Part = 'uu' | 'yy' | 'uyRe' | 'uyIm'

/** A part of all groups' sums, added up. */
function totalOf({ sums }: SegmentedSpectra, part: Part): Float64Array {
  const total = sums[0]![part].slice()
  for (let group = 1; group < sums.length; group++) add(total, sums[group]![part])
  return total
}

function add(sum: Float64Array, more: Float64Array): void {
  for (let k = 0; k < sum.length; k++) sum[k]! += more[k]!
}

function scaled(
  { rate_hz, segmentLength, hop, window }: SegmentedSpectra,
  starts: readonly number[],
  sumOf: (part: Part) => Float64Array,
): CrossSpectra {
  if (starts.length === 0) throw new Error('no segments to average')
  const scale = 1 / (rate_hz * windowPower(window) * starts.length)
  const density = (part: Part) => densityOf(sumOf(part), scale, segmentLength)
  return {
    f_hz: binFrequencies_hz(segmentLength, rate_hz),
    uu: density('uu'),
    yy: density('yy'),
    uyRe: density('uyRe'),
    uyIm: density('uyIm'),
    segments: starts.length,
    averages: degreesOfFreedom(window, hop, starts) / 2,
    segmentLength,
    rate_hz,
  }
}

/** In place: products of spectra to one-sided densities. */
function densityOf(products: Float64Array, scale: number, segment: number): Float64Array {
  for (let k = 0; k < products.length; k++) products[k]! *= scale * oneSidedFactor(k, segment)
  return products
}

type AddSegment = (u: ArrayLike<number>, y: ArrayLike<number>, start: number, sum: SpectraSum) => void

function pairTransform(window: Float64Array, detrend: Detrend): AddSegment {
  const size = window.length
  const plan = complexFft(size)
  const re = new Float64Array(size)
  const im = new Float64Array(size)
  const bins = Math.floor(size / 2) + 1
  return (u, y, start, sum) => {
    for (let n = 0; n < size; n++) {
      re[n] = u[start + n]!
      im[n] = y[start + n]!
    }
    detrendInPlace(re, detrend)
    detrendInPlace(im, detrend)
    for (let n = 0; n < size; n++) {
      re[n]! *= window[n]!
      im[n]! *= window[n]!
    }
    plan.forward(re, im)
    for (let k = 0; k < bins; k++) {
      const mirror = k === 0 ? 0 : size - k
      // u is the even part of the spectrum, y the odd one divided by i.
      const uRe = 0.5 * (re[k]! + re[mirror]!)
      const uIm = 0.5 * (im[k]! - im[mirror]!)
      const yRe = 0.5 * (im[k]! + im[mirror]!)
      const yIm = 0.5 * (re[mirror]! - re[k]!)
      sum.uu[k]! += uRe * uRe + uIm * uIm
      sum.yy[k]! += yRe * yRe + yIm * yIm
      sum.uyRe[k]! += uRe * yRe + uIm * yIm
      sum.uyIm[k]! += uRe * yIm - uIm * yRe
    }
  }
}

/** Magnitude-squared coherence |S_uy|^2 / (S_uu S_yy), 0..1; 0 where either series has no power. */
export function coherence(spectra: CrossSpectra): Float64Array {
  const { uu, yy, uyRe, uyIm } = spectra
  const g2 = new Float64Array(uu.length)
  for (let k = 0; k < g2.length; k++) {
    const power = uu[k]! * yy[k]!
    if (power > 0) g2[k] = Math.min(1, (uyRe[k]! * uyRe[k]! + uyIm[k]! * uyIm[k]!) / power)
  }
  return g2
}

/**
 * What the coherence of two unrelated series exceeds with probability alpha: 1 - alpha^(1/(L-1)) with L effective
 * averages (Bendat & Piersol, 4th ed., ch. 9 [from memory]). 1 when L <= 1: a single average proves nothing.
 */
export function coherenceThreshold(averages: number, alpha = 0.05): number {
  if (!(alpha > 0 && alpha < 1)) throw new Error(`alpha must lie inside 0..1: ${alpha}`)
  return averages > 1 ? 1 - alpha ** (1 / (averages - 1)) : 1
}

/** Mean coherence of two unrelated series: 1/L. */
export function coherenceBias(averages: number): number {
  return averages > 1 ? 1 / averages : 1
}

/** A transfer function from u to y. */
export interface Transfer {
  readonly f_hz: Float64Array
  readonly re: Float64Array
  readonly im: Float64Array
}

/** H1 = S_uy / S_uu, right when the noise is all in y. 0 where u has no power. */
export function h1(spectra: CrossSpectra): Transfer {
  const { uu, uyRe, uyIm, f_hz } = spectra
  const over = (part: Float64Array) => part.map((value, k) => (uu[k]! > 0 ? value / uu[k]! : 0))
  return { f_hz, re: over(uyRe), im: over(uyIm) }
}

/** Relative standard error of |H1|: sqrt(1 - g2) / (g sqrt(2L)) with g2 the coherence. Infinite at g2 = 0. */
export function h1RelativeError(g2: number, averages: number): number {
  return g2 > 0 ? Math.sqrt(1 - g2) / (Math.sqrt(g2) * Math.sqrt(2 * averages)) : Infinity
}
