import { realFft } from './fft.ts'

/** What is taken off a segment before it is windowed. */
export type Detrend = 'none' | 'constant' | 'linear'

/** A stretch of samples [start, end) without a gap and without NaN. */
export interface Run {
  readonly start: number
  readonly end: number
}

/**
 * The stretches in which every one of the series (all of the same length) is finite and that no break falls
 * into. `breaks` are indices of samples before which the clock has a gap (see clock-breaks.ts), in any order.
 */
export function runsOf(series: readonly ArrayLike<number>[], breaks: ArrayLike<number> = []): Run[] {
  const length = series[0]?.length ?? 0
  for (const samples of series) {
    if (samples.length !== length) throw new Error(`series differ in length: ${length} and ${samples.length}`)
  }
  const obstacles = series.map(usability)
  const broken = Array.from(breaks).sort((a, b) => a - b)
  const runs: Run[] = []
  let next = 0
  let start = 0
  while (start < length) {
    let end = length
    for (const { nextUnusable } of obstacles) end = Math.min(end, nextUnusable(start))
    if (end === start) {
      start = obstacles.reduce((at, { nextUsable }) => nextUsable(at), start + 1)
      continue
    }
    while (next < broken.length && broken[next]! <= start) next++
    end = Math.min(end, broken[next] ?? length)
    runs.push({ start, end })
    start = end
  }
  return runs
}

/** What `runsOf` gives for series of this length whose samples are all finite. */
export function runsBetween(length: number, breaks: ArrayLike<number> = []): Run[] {
  const runs: Run[] = []
  let start = 0
  for (const end of [...Array.from(breaks).sort((a, b) => a - b), length]) {
    if (end <= start || end > length) continue
    runs.push({ start, end })
    start = end
  }
  return runs
}

/** The same stretches in means of `factor` samples each (see `decimated`): of those means that lie in one as a whole. */
export function runsOfMeans(runs: readonly Run[], factor: number): Run[] {
  return runs
    .map(({ start, end }): Run => ({ start: Math.ceil(start / factor), end: Math.floor(end / factor) }))
    .filter(({ start, end }) => end > start)
}

/** What is left of the runs without these stretches; both ascend and do not overlap among themselves. */
export function runsWithout(runs: readonly Run[], stretches: readonly Run[]): Run[] {
  const left: Run[] = []
  let next = 0
  for (const { start, end } of runs) {
    while (next < stretches.length && stretches[next]!.end <= start) next++
    let from = start
    for (let k = next; k < stretches.length && stretches[k]!.start < end; k++) {
      if (stretches[k]!.start > from) left.push({ start: from, end: stretches[k]!.start })
      from = stretches[k]!.end
    }
    if (from < end) left.push({ start: from, end })
  }
  return left
}

/** Is every sample finite? */
export const isWhole = (samples: ArrayLike<number>): boolean =>
  usability(samples).nextUnusable(0) === samples.length

/** A function that gives the first index from an index on whose sample is NaN or infinite; the length when none is. */
export const unusableFinder = (samples: ArrayLike<number>): ((from: number) => number) =>
  usability(samples).nextUnusable

/** Where a series is finite and where not: the first such index from an index on; the length when there is none. */
function usability(samples: ArrayLike<number>) {
  const values =
    samples instanceof Float32Array || samples instanceof Float64Array ? samples : Float64Array.from(samples)
  const wide = values instanceof Float64Array
  // The exponent's bits tell: whole numbers of one kind are looked through much faster than floats of two.
  const words = new Int32Array(values.buffer, values.byteOffset, values.length * (wide ? 2 : 1))
  const length = values.length
  const first = (find: typeof nextAllOnes, from: number) =>
    Math.min(length, wide ? find(words, 2 * from + 1, 2, 0x7ff00000) >> 1 : find(words, from, 1, 0x7f800000))
  let found = -1
  return {
    nextUnusable(from: number): number {
      if (found < from) found = first(nextAllOnes, from)
      return found
    },
    nextUsable: (from: number): number => first(nextNotAllOnes, from),
  }
}

/** First index from `from` on, in strides, at which all bits of the mask are set; at least the length when there is none. */
function nextAllOnes(words: Int32Array, from: number, stride: number, mask: number): number {
  let index = from
  // Four at a time while none of them can be it: every spectrum looks through its series.
  const last = words.length - 3 * stride
  while (
    index < last &&
    (words[index]! & mask) !== mask &&
    (words[index + stride]! & mask) !== mask &&
    (words[index + 2 * stride]! & mask) !== mask &&
    (words[index + 3 * stride]! & mask) !== mask
  )
    index += 4 * stride
  while (index < words.length && (words[index]! & mask) !== mask) index += stride
  return index
}

/** First index from `from` on, in strides, at which a bit of the mask is not set. */
function nextNotAllOnes(words: Int32Array, from: number, stride: number, mask: number): number {
  let index = from
  while (index < words.length && (words[index]! & mask) === mask) index += stride
  return index
}

/** Where segments of this length start, `hop` samples apart, counted anew in every run. */
export function segmentStarts(runs: readonly Run[], segment: number, hop: number): number[] {
  if (!(Number.isInteger(segment) && segment >= 2)) throw new Error(`segment must be at least 2: ${segment}`)
  if (!(Number.isInteger(hop) && hop >= 1)) throw new Error(`hop must be at least 1: ${hop}`)
  const starts: number[] = []
  for (const run of runs) {
    for (let start = run.start; start + segment <= run.end; start += hop) starts.push(start)
  }
  return starts
}

/** Hop for an overlap given as a share of the segment: 0.5 of 256 gives 128; of 255, 128 too. */
export function hopFor(segment: number, overlap: number): number {
  if (!(overlap >= 0 && overlap < 1)) throw new Error(`overlap must lie in 0..1, 1 excluded: ${overlap}`)
  return segment - Math.floor(segment * overlap)
}

/** Takes off the mean or the least-squares line, in place. */
export function detrendInPlace(samples: Float64Array, detrend: Detrend): void {
  if (detrend === 'none') return
  const count = samples.length
  let mean = 0
  for (let n = 0; n < count; n++) mean += samples[n]!
  mean /= count
  let slope = 0
  const middle = (count - 1) / 2
  if (detrend === 'linear' && count > 1) {
    let moment = 0
    let spread = 0
    for (let n = 0; n < count; n++) {
      moment += (n - middle) * (samples[n]! - mean)
      spread += (n - middle) ** 2
    }
    slope = moment / spread
  }
  for (let n = 0; n < count; n++) samples[n] = samples[n]! - mean - slope * (n - middle)
}

/** The transform of one segment of a series, reused from segment to segment. */
export interface SegmentTransform {
  readonly re: Float64Array
  readonly im: Float64Array
  /** Detrends, windows and transforms the samples from `start`; the result stands in re and im. */
  at(samples: ArrayLike<number>, start: number): void
}

/** A transform for segments as long as the window. */
export function segmentTransform(window: Float64Array, detrend: Detrend): SegmentTransform {
  const size = window.length
  const plan = realFft(size)
  const work = new Float64Array(size)
  const re = new Float64Array(plan.bins)
  const im = new Float64Array(plan.bins)
  return {
    re,
    im,
    at(samples, start) {
      for (let n = 0; n < size; n++) work[n] = samples[start + n]!
      detrendInPlace(work, detrend)
      for (let n = 0; n < size; n++) work[n]! *= window[n]!
      plan.forward(work, re, im)
    },
  }
}

/** Frequencies of the bins from 0 to half the rate. */
export function binFrequencies_hz(size: number, rate_hz: number): Float64Array {
  const frequencies = new Float64Array(Math.floor(size / 2) + 1)
  for (let k = 0; k < frequencies.length; k++) frequencies[k] = (k * rate_hz) / size
  return frequencies
}

/** 2 for bins that stand for a positive and a negative frequency, 1 for DC and half the rate. */
export function oneSidedFactor(bin: number, size: number): 1 | 2 {
  return bin === 0 || 2 * bin === size ? 1 : 2
}
