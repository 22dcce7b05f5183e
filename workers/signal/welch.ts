import { Problem } from '../log/problems.ts'
import { chiSquareQuantile } from './chi-square.ts'
import { kernelCrosses, kernelPower } from './kernel/spectra-kernel.ts'
import {
  binFrequencies_hz,
  hopFor,
  oneSidedFactor,
  runsOf,
  segmentStarts,
  segmentTransform,
  type Detrend,
  type Run,
} from './segments.ts'
import { overlapCorrelation, windowPower, windowSamples, windowSum, type WindowName } from './windows.ts'

export interface WelchOptions {
  readonly rate_hz: number
  /** Samples per segment. */
  readonly segment: number
  /** Share of a segment shared with the next; 0.5 when left out. */
  readonly overlap?: number
  /** 'hann' when left out. */
  readonly window?: WindowName
  /** 'constant' when left out. */
  readonly detrend?: Detrend
  /** Indices of samples before which the clock has a gap: no segment reaches over one. */
  readonly breaks?: ArrayLike<number>
  /** What `runsOf` gives for the series and the breaks, where it is at hand. */
  readonly runs?: readonly Run[]
  /**
   * True: segments of a power of two may go through the compiled kernel in 32-bit arithmetic (relative error near 1e-6 of
   * the largest bin), several times faster. Left out: 64-bit arithmetic.
   */
  readonly single?: boolean
  /** Taken off the samples, one by one: the spectrum is that of the difference. */
  readonly less?: ArrayLike<number>
  /** Coverage of the interval; 0.95 when left out. */
  readonly confidence?: number
}

export interface WelchSpectrum {
  readonly f_hz: Float64Array
  /** One-sided power density, (unit of the samples)^2/Hz. */
  readonly density: Float64Array
  /** Interval of the density: sampling error only, for noise that did not change meanwhile. */
  readonly low: Float64Array
  readonly high: Float64Array
  /** Segments averaged. */
  readonly segments: number
  /** Degrees of freedom of a bin between DC and half the rate. */
  readonly dof: number
}

/**
 * Power density by Welch's method (IEEE Trans. Audio Electroacoust. 15, 1967): 2|X|^2/(rate sum w^2), not
 * doubled at DC and half the rate, averaged over segments. Without gaps it equals scipy.signal.welch. Segments
 * count anew behind each gap or NaN, none spans one. Throws Problem 'too-short' when no segment fits.
 */
export function welch(samples: ArrayLike<number>, options: WelchOptions): WelchSpectrum {
  const { rate_hz, segment, overlap = 0.5, detrend = 'constant', confidence = 0.95, less } = options
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  const hop = hopFor(segment, overlap)
  const starts = segmentStarts(
    options.runs ?? runsOf(less ? [samples, less] : [samples], options.breaks),
    segment,
    hop,
  )
  if (starts.length === 0) {
    throw new Problem(
      'too-short',
      `A spectrum needs ${segment} samples in a row without a gap; there are fewer.`,
    )
  }
  const window = windowSamples(options.window ?? 'hann', segment)
  const [density] = powerSums(samples, [starts] as const, window, detrend, options.single === true, less)
  const scale = 1 / (rate_hz * windowPower(window) * starts.length)
  for (let k = 0; k < density.length; k++) density[k]! *= scale * oneSidedFactor(k, segment)
  const dof = degreesOfFreedom(window, hop, starts)
  const inside = intervalFactors(dof, confidence)
  const edge = intervalFactors(dof / 2, confidence)
  return {
    f_hz: binFrequencies_hz(segment, rate_hz),
    density,
    low: bounded(density, segment, inside.low, edge.low),
    high: bounded(density, segment, inside.high, edge.high),
    segments: starts.length,
    dof,
  }
}

/** Densities times `inside`, those at DC and half the rate times `edge`. */
function bounded(density: Float64Array, segment: number, inside: number, edge: number): Float64Array {
  const bound = new Float64Array(density.length)
  for (let k = 0; k < bound.length; k++)
    bound[k] = density[k]! * (oneSidedFactor(k, segment) === 1 ? edge : inside)
  return bound
}

/**
 * The power that a sine has to read as this density, (unit)^2 = A^2/2: density times the window's noise bandwidth,
 * rate sum w^2 / (sum w)^2. For lines; a density for everything else. A line between two bins reads up to the window's
 * scalloping loss lower.
 */
export function linePower(density: Float64Array, window: Float64Array, rate_hz: number): Float64Array {
  const bandwidth_hz = (rate_hz * windowPower(window)) / windowSum(window) ** 2
  return density.map((value) => value * bandwidth_hz)
}

/** Sums of |X|^2 (of samples - `less` where it is given) over each group's segments, in 32-bit arithmetic where `single` allows it and the kernel can. */
export function powerSums<Groups extends readonly (readonly number[])[]>(
  samples: ArrayLike<number>,
  groups: Groups,
  window: Float64Array,
  detrend: Detrend,
  single: boolean,
  less?: ArrayLike<number>,
): { [Index in keyof Groups]: Float64Array } {
  const sums = groups.map((starts) => ({
    starts,
    power: new Float64Array(Math.floor(window.length / 2) + 1),
  }))
  if (single && detrend !== 'linear' && kernelCrosses(window.length))
    kernelPower(samples, sums, window, detrend === 'constant', less)
  else {
    const { re, im, at } = segmentTransform(window, detrend)
    const values = less ? Float64Array.from(samples, (value, n) => value - less[n]!) : samples
    for (const { starts, power } of sums) {
      for (const start of starts) {
        at(values, start)
        for (let k = 0; k < power.length; k++) power[k]! += re[k]! ** 2 + im[k]! ** 2
      }
    }
  }
  return sums.map(({ power }) => power) as { [Index in keyof Groups]: Float64Array }
}

/**
 * nu = 2K / (1 + 2 sum over j of (pairs_j / K) rho_j^2), where pairs_j counts the segments that start j hops
 * apart (K - j without gaps) and rho_j is their windows' correlation: Welch's formula with gaps allowed for.
 */
export function degreesOfFreedom(window: Float64Array, hop: number, starts: readonly number[]): number {
  const count = starts.length
  let shared = 0
  for (let j = 1; j * hop < window.length; j++) {
    const rho = overlapCorrelation(window, j * hop)
    const pairs = pairsApart(starts, j * hop)
    shared += (pairs / count) * rho * rho
  }
  return (2 * count) / (1 + 2 * shared)
}

/** How many of the starts, which ascend, have another one so far behind them. */
function pairsApart(starts: readonly number[], distance: number): number {
  let pairs = 0
  let later = 0
  for (const start of starts) {
    while (later < starts.length && starts[later]! < start + distance) later++
    if (starts[later] === start + distance) pairs++
  }
  return pairs
}

/** What a density with `dof` degrees of freedom is multiplied by to bound the true one: nu / chi-square. */
export function intervalFactors(dof: number, confidence: number): { low: number; high: number } {
  const tail = (1 - confidence) / 2
  return { low: dof / chiSquareQuantile(1 - tail, dof), high: dof / chiSquareQuantile(tail, dof) }
}
