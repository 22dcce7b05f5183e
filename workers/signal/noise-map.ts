import { areSamples, type Samples } from './samples.ts'
import { binFrequencies_hz, hopFor, oneSidedFactor, runsOf, segmentStarts, type Run } from './segments.ts'
import { degreesOfFreedom, powerSums } from './welch.ts'
import { windowPower, windowSamples } from './windows.ts'

/** Noise level by throttle and frequency. */
export interface NoiseMap {
  readonly f_hz: Float64Array
  /** Edges of the throttle bins, one more than there are bins. */
  readonly throttleEdges: Float64Array
  /** bins x frequencies, a row per throttle bin: dB against 1 (deg/s)^2/Hz. NaN: too little flown there to say. */
  readonly level_db: Float32Array
  /** Effective averages per throttle bin. */
  readonly averages: Float64Array
  /** Share of the segments dropped because the throttle moved by more than a bin within them. */
  readonly dropped: number
  readonly rate_hz: number
  readonly segment: number
}

export interface NoiseMapOptions {
  readonly rate_hz: number
  /** Samples per segment; 256 suits 1-2 kHz. Any length will do. */
  readonly segment: number
  /** Throttle bins between 0 and 1; 20 when left out. */
  readonly bins?: number
  readonly breaks?: ArrayLike<number>
  /** What `sortByThrottle` gives for segments without NaN and breaks, where it is at hand. */
  readonly sorted?: ThrottleSort
}

/** Segments by throttle bin. */
export interface ThrottleSort {
  /** Starts of each bin's segments. */
  readonly startsOf: readonly (readonly number[])[]
  /** Segments left out because the throttle moved by more than a bin within them, and how many there are in all. */
  readonly dropped: number
  readonly segments: number
}

/** Throttle bins of a map when nothing else is asked for. */
export const THROTTLE_BINS = 20

/** Cells with fewer effective averages are not shown. */
export const LEAST_AVERAGES = 5

/**
 * Short-time spectra (Hann, 3/4 overlap, constant detrend) sorted by throttle: each segment goes to the bin of
 * its median throttle, or is dropped when its throttle covers more than a bin's width. Powers are averaged, then
 * turned to dB. Segments of a power of two go through the compiled kernel in 32 bits. Samples with a NaN in gyro or throttle, and segments over a break, take no part.
 */
export function noiseMap(
  gyro: ArrayLike<number>,
  throttle: ArrayLike<number>,
  { rate_hz, segment, bins = THROTTLE_BINS, breaks, sorted }: NoiseMapOptions,
): NoiseMap {
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  const hop = hopFor(segment, 0.75)
  const window = windowSamples('hann', segment)
  const width = Math.floor(segment / 2) + 1
  const { startsOf, dropped, segments } =
    sorted ?? sortByThrottle(throttle, runsOf([gyro, throttle], breaks), segment, bins)
  const powers = powerSums(gyro, startsOf, window, 'constant', true)
  const averages = Float64Array.from(startsOf, (own) =>
    own.length > 0 ? degreesOfFreedom(window, hop, own) / 2 : 0,
  )
  const level_db = new Float32Array(bins * width).fill(NaN)
  const scale = 1 / (rate_hz * windowPower(window))
  for (let bin = 0; bin < bins; bin++) {
    if (averages[bin]! < LEAST_AVERAGES) continue
    for (let k = 0; k < width; k++) {
      const density = (powers[bin]![k]! * scale * oneSidedFactor(k, segment)) / startsOf[bin]!.length
      level_db[bin * width + k] = 10 * Math.log10(Math.max(1e-12, density))
    }
  }
  return {
    f_hz: binFrequencies_hz(segment, rate_hz),
    throttleEdges: Float64Array.from({ length: bins + 1 }, (_, k) => k / bins),
    level_db,
    averages,
    dropped: segments > 0 ? dropped / segments : 0,
    rate_hz,
    segment,
  }
}

/** Sorts the map's segments within the runs by their median throttle; see `noiseMap`. */
export function sortByThrottle(
  throttle: ArrayLike<number>,
  runs: readonly Run[],
  segment: number,
  bins = THROTTLE_BINS,
): ThrottleSort {
  const hop = hopFor(segment, 0.75)
  const startsOf: number[][] = Array.from({ length: bins }, () => [])
  let dropped = 0
  const starts = segmentStarts(runs, segment, hop)
  const stick = areSamples(throttle) ? throttle : new Float64Array(throttle)
  const ranges = new SlidingRange(stick, segment, hop)
  for (const start of starts) {
    const bin = throttleBin(stick, start, start + segment, bins, ranges.at(start))
    if (bin < 0) dropped++
    else startsOf[bin]!.push(start)
  }
  return { startsOf, dropped, segments: starts.length }
}

/** Bin of the median throttle over from..to; -1 when the throttle covers more than a bin's width. */
function throttleBin(stick: Samples, from: number, to: number, bins: number, { low, high }: Range): number {
  if (high - low > 1 / bins + 1e-9) return -1
  const first = Math.min(bins - 1, Math.max(0, Math.floor(low * bins)))
  const edge = (first + 1) / bins
  if (high < edge || first === bins - 1) return first
  // At most two bins are touched: the median lies in the one that holds more.
  let below = 0
  for (let n = from; n < to; n++) if (stick[n]! < edge) below++
  return 2 * below > to - from ? first : first + 1
}

interface Range {
  readonly low: number
  readonly high: number
}

/** Least and largest value of segments that slide by a hop: where the hop divides the segment, each sample is looked at once. */
class SlidingRange {
  readonly #values: Samples
  readonly #parts: number
  readonly #part: number
  /** Where the parts of the last segment start, and their ranges. */
  readonly #known = new Map<number, Range>()

  constructor(values: Samples, segment: number, hop: number) {
    this.#values = values
    this.#parts = segment % hop === 0 ? segment / hop : 1
    this.#part = segment / this.#parts
  }

  at(start: number): Range {
    let low = Infinity
    let high = -Infinity
    for (let k = 0; k < this.#parts; k++) {
      const own = this.#rangeFrom(start + k * this.#part)
      if (own.low < low) low = own.low
      if (own.high > high) high = own.high
    }
    // The next segment starts a part later or behind a gap: what lies before this one's second part is done with.
    this.#known.delete(start)
    return { low, high }
  }

  #rangeFrom(from: number): Range {
    const known = this.#known.get(from)
    if (known) return known
    const values = this.#values
    let low = values[from]!
    let high = low
    for (let n = from + 1; n < from + this.#part; n++) {
      const value = values[n]!
      if (value < low) low = value
      else if (value > high) high = value
    }
    const range = { low, high }
    this.#known.set(from, range)
    return range
  }
}

/** B less A, cell by cell, on the band that both flights carry. */
export interface NoiseDifference {
  readonly f_hz: Float64Array
  readonly throttleEdges: Float64Array
  /** bins x frequencies, dB; NaN where either flight has too little. Positive: B is noisier. */
  readonly difference_db: Float32Array
  /** One number for all cells that both have: 10 log10 of the ratio of summed powers; NaN without any. */
  readonly overall_db: number
  /** Share of the cells with anything in either flight that both have. */
  readonly shared: number
  readonly cautions: readonly string[]
}

/**
 * Difference of two maps, B less A. The maps must have the same bins and segments of the same duration (make them with
 * `commonSegments`), so that frequencies agree; only what lies below 0.9 of the lower Nyquist frequency is kept.
 */
export function noiseDifference(a: NoiseMap, b: NoiseMap): NoiseDifference {
  if (a.throttleEdges.length !== b.throttleEdges.length) throw new Error('noise maps differ in throttle bins')
  const step = a.rate_hz / a.segment
  if (Math.abs(b.rate_hz / b.segment / step - 1) > 0.01) {
    throw new Error(`noise maps differ in resolution: ${step} and ${b.rate_hz / b.segment} Hz`)
  }
  const top_hz = 0.45 * Math.min(a.rate_hz, b.rate_hz)
  const width = Math.min(a.f_hz.length, b.f_hz.length, Math.floor(top_hz / step) + 1)
  const bins = a.throttleEdges.length - 1
  const difference_db = new Float32Array(bins * width).fill(NaN)
  let powerA = 0
  let powerB = 0
  let both = 0
  let either = 0
  for (let bin = 0; bin < bins; bin++) {
    for (let k = 0; k < width; k++) {
      const inA = a.level_db[bin * a.f_hz.length + k]!
      const inB = b.level_db[bin * b.f_hz.length + k]!
      if (!Number.isNaN(inA) || !Number.isNaN(inB)) either++
      if (Number.isNaN(inA) || Number.isNaN(inB)) continue
      both++
      difference_db[bin * width + k] = inB - inA
      powerA += 10 ** (inA / 10)
      powerB += 10 ** (inB / 10)
    }
  }
  const cautions: string[] = []
  if (Math.abs(a.rate_hz / b.rate_hz - 1) > 0.01) {
    cautions.push(
      `The logs run at ${a.rate_hz.toFixed(0)} and ${b.rate_hz.toFixed(0)} Hz: what folds at half the rate may differ by that alone.`,
    )
  }
  return {
    f_hz: a.f_hz.slice(0, width),
    throttleEdges: a.throttleEdges,
    difference_db,
    overall_db: both > 0 ? 10 * Math.log10(powerB / powerA) : NaN,
    shared: either > 0 ? both / either : 0,
    cautions,
  }
}

/** Segment lengths of the same duration for two rates: a power of two near 0.13 s for the slower log. */
export function commonSegments(
  rateA_hz: number,
  rateB_hz: number,
): { readonly a: number; readonly b: number } {
  const slower = Math.min(rateA_hz, rateB_hz)
  const base = 2 ** Math.max(4, Math.round(Math.log2(0.13 * slower)))
  return { a: Math.round((base * rateA_hz) / slower), b: Math.round((base * rateB_hz) / slower) }
}
