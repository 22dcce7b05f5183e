import { crossProducts } from './cross-products.ts'
import { withScratch, type Scratch } from './scratch.ts'
import { areSamples, type Samples } from './samples.ts'

/** Correlation of two series as a function of the shift between them. */
export interface Correlation {
  /** The shift, in samples, of the first entry: entry k compares u[n] with y[n + firstLag + k]. */
  readonly firstLag: number
  /** Pearson's correlation over the samples that overlap at the shift. NaN where it is undefined. */
  readonly r: Float64Array
  /** How many samples overlap (both finite) at the shift. */
  readonly overlap: Float64Array
}

/** Sums over the overlap at each shift; what several channels add up before one correlation is formed. */
export interface CorrelationSums {
  readonly firstLag: number
  readonly overlap: Float64Array
  /** Sum of products about the overlap's own means. */
  readonly cross: Float64Array
  readonly squaresU: Float64Array
  readonly squaresY: Float64Array
}

/**
 * Pearson's correlation at three neighbouring lags of long series without NaN, in one pass and without copies. Null when a
 * sample is not finite. Sums are taken about rough means, which costs no digits and saves a pass.
 */
function correlateThree(u: Samples, y: Samples, firstLag: number): Correlation | null {
  const offsetU = roughMean(u)
  const offsetY = roughMean(y)
  // Where all three lags overlap: one loop for all.
  const start = Math.max(0, -firstLag)
  const end = Math.max(start, Math.min(u.length, y.length - firstLag - 2))
  let [sumU, sumY, uu, yy, c0, c1, c2] = [0, 0, 0, 0, 0, 0, 0]
  if (end > start) {
    let b0 = y[start + firstLag]! - offsetY
    let b1 = y[start + firstLag + 1]! - offsetY
    for (let n = start; n < end; n++) {
      const a = u[n]! - offsetU
      const b2 = y[n + firstLag + 2]! - offsetY
      sumU += a
      sumY += b0
      uu += a * a
      yy += b0 * b0
      c0 += a * b0
      c1 += a * b1
      c2 += a * b2
      b0 = b1
      b1 = b2
    }
  }
  const whole = sumU + sumY + c1 + c2
  if (whole - whole !== 0) return null
  const r = new Float64Array(3)
  const overlap = new Float64Array(3)
  for (let k = 0; k < 3; k++) {
    const lag = firstLag + k
    // From y at `start + firstLag` on to y at `start + lag` on, and the samples that overlap at this lag alone.
    const sums = { u: sumU, y: sumY, uu, yy, uy: [c0, c1, c2][k]!, count: end - start }
    for (let j = 0; j < k && end > start; j++) {
      const gone = y[start + firstLag + j]! - offsetY
      const come = y[end + firstLag + j]! - offsetY
      sums.y += come - gone
      sums.yy += come * come - gone * gone
    }
    const include = (n: number) => {
      const a = u[n]! - offsetU
      const b = y[n + lag]! - offsetY
      sums.u += a
      sums.y += b
      sums.uu += a * a
      sums.yy += b * b
      sums.uy += a * b
      sums.count++
    }
    for (let n = Math.max(0, -lag); n < start; n++) include(n)
    for (let n = end; n < Math.min(u.length, y.length - lag); n++) include(n)
    const { count } = sums
    const cross = sums.uy - (sums.u * sums.y) / count
    const scale = Math.sqrt(
      Math.max(0, sums.uu - sums.u ** 2 / count) * Math.max(0, sums.yy - sums.y ** 2 / count),
    )
    overlap[k] = count
    r[k] = count > 1 && scale > 0 ? Math.max(-1, Math.min(1, cross / scale)) : NaN
  }
  return { firstLag, r, overlap }
}

/** Mean of a few hundred samples spread over the series. */
function roughMean(values: Samples): number {
  const stride = Math.max(1, values.length >> 8)
  let sum = 0
  let count = 0
  for (let n = 0; n < values.length; n += stride) {
    sum += values[n]!
    count++
  }
  return count > 0 ? sum / count : 0
}

/**
 * The sums of Pearson's correlation at each shift from firstLag to lastLag. Samples that are not finite on
 * either side take no part. O(N log N).
 */
export function correlationSums(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  firstLag: number,
  lastLag: number,
): CorrelationSums {
  return withScratch((scratch) => sumsOfCentred(centred(u, scratch), centred(y, scratch), firstLag, lastLag))
}

function sumsOfCentred(a: Centred, b: Centred, firstLag: number, lastLag: number): CorrelationSums {
  const cross = crossProducts(a.values, b.values, firstLag, lastLag)
  const sums = a.mask || b.mask ? sumsOfMasked : sumsOfComplete
  const { overlap, sumU, sumY, squaresU, squaresY } = sums(a, b, firstLag, lastLag)
  for (let k = 0; k < cross.length; k++) {
    const count = overlap[k]!
    if (count < 2) {
      cross[k] = squaresU[k] = squaresY[k] = 0
      continue
    }
    cross[k]! -= (sumU[k]! * sumY[k]!) / count
    squaresU[k] = Math.max(0, squaresU[k]! - sumU[k]! ** 2 / count)
    squaresY[k] = Math.max(0, squaresY[k]! - sumY[k]! ** 2 / count)
  }
  return { firstLag, overlap, cross, squaresU, squaresY }
}

/** Pearson's correlation at each shift from firstLag to lastLag (see Correlation). */
export function correlate(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  firstLag: number,
  lastLag: number,
): Correlation {
  if (lastLag - firstLag === 2 && areSamples(u) && areSamples(y)) {
    const three = correlateThree(u, y, firstLag)
    if (three) return three
  }
  return correlationOf([correlationSums(u, y, firstLag, lastLag)])
}

/**
 * One correlation out of several channels' sums (all over the same shifts): their products and squares are added, so
 * bring the channels to a common scale first. `overlap` is that of the first channel.
 */
export function correlationOf(channels: readonly CorrelationSums[]): Correlation {
  const first = channels[0]
  if (!first) throw new Error('no channels to correlate')
  const r = new Float64Array(first.cross.length)
  for (let k = 0; k < r.length; k++) {
    let cross = 0
    let squaresU = 0
    let squaresY = 0
    for (const channel of channels) {
      cross += channel.cross[k]!
      squaresU += channel.squaresU[k]!
      squaresY += channel.squaresY[k]!
    }
    const scale = Math.sqrt(squaresU * squaresY)
    r[k] = scale > 0 ? Math.max(-1, Math.min(1, cross / scale)) : NaN
  }
  return { firstLag: first.firstLag, r, overlap: first.overlap }
}

/** Where between three equally spaced values the parabola through them peaks: -0.5..0.5 from the middle one. */
export function parabolaPeak(before: number, at: number, after: number): number {
  const curvature = before - 2 * at + after
  return curvature < 0 ? Math.max(-0.5, Math.min(0.5, (0.5 * (before - after)) / curvature)) : 0
}

interface Centred {
  /** About the mean of all finite samples; 0 where there is none. */
  readonly values: Float64Array
  /** 1 where the sample is finite; null when all are. */
  readonly mask: Float64Array | null
}

function centred(samples: ArrayLike<number>, scratch: Scratch): Centred {
  const values = scratch.doubles(samples.length)
  values.set(samples)
  let sum = 0
  let count = 0
  for (let n = 0; n < values.length; n++) {
    const value = values[n]!
    // Only NaN and infinities differ from themselves here.
    if (value - value !== 0) continue
    sum += value
    count++
  }
  const mean = count > 0 ? sum / count : 0
  if (count === values.length) {
    for (let n = 0; n < values.length; n++) values[n]! -= mean
    return { values, mask: null }
  }
  const mask = scratch.doubles(values.length)
  for (let n = 0; n < values.length; n++) {
    const value = values[n]! - mean
    mask[n] = value - value === 0 ? 1 : 0
    values[n] = mask[n] === 1 ? value : 0
  }
  return { values, mask }
}

interface PlainSums {
  readonly overlap: Float64Array
  readonly sumU: Float64Array
  readonly sumY: Float64Array
  readonly squaresU: Float64Array
  readonly squaresY: Float64Array
}

function sumsOfComplete(a: Centred, b: Centred, firstLag: number, lastLag: number): PlainSums {
  const lags = lastLag - firstLag + 1
  const u = new RangeSums(
    a.values,
    Math.max(0, -firstLag),
    Math.max(0, a.values.length - (b.values.length - lastLag)),
  )
  const y = new RangeSums(
    b.values,
    Math.max(0, lastLag),
    Math.max(0, b.values.length - (a.values.length + firstLag)),
  )
  const overlap = new Float64Array(lags)
  const sumU = new Float64Array(lags)
  const sumY = new Float64Array(lags)
  const squaresU = new Float64Array(lags)
  const squaresY = new Float64Array(lags)
  for (let k = 0; k < lags; k++) {
    const lag = firstLag + k
    const start = Math.max(0, -lag)
    const end = Math.min(a.values.length, b.values.length - lag)
    if (end <= start) continue
    overlap[k] = end - start
    sumU[k] = u.sum(start, end)
    sumY[k] = y.sum(start + lag, end + lag)
    squaresU[k] = u.squares(start, end)
    squaresY[k] = y.squares(start + lag, end + lag)
  }
  return { overlap, sumU, sumY, squaresU, squaresY }
}

/** Sums over stretches that leave out at most `head` samples at the beginning and `tail` at the end. */
class RangeSums {
  private readonly length: number
  private readonly all: { readonly sum: number; readonly squares: number }
  private readonly head: RunningSums
  private readonly tail: RunningSums

  constructor(values: Float64Array, head: number, tail: number) {
    const { length } = values
    let sum = 0
    let squares = 0
    for (let n = 0; n < length; n++) {
      sum += values[n]!
      squares += values[n]! * values[n]!
    }
    this.length = length
    this.all = { sum, squares }
    this.head = runningSums(values.subarray(0, Math.min(length, head)))
    this.tail = runningSums(
      values
        .subarray(Math.max(0, length - tail))
        .slice()
        .reverse(),
    )
  }

  sum(start: number, end: number): number {
    return this.all.sum - this.head.sums[start]! - this.tail.sums[this.length - end]!
  }

  squares(start: number, end: number): number {
    return this.all.squares - this.head.squares[start]! - this.tail.squares[this.length - end]!
  }
}

function sumsOfMasked(a: Centred, b: Centred, firstLag: number, lastLag: number): PlainSums {
  const squared = (values: Float64Array) => values.map((value) => value * value)
  const products = (u: Float64Array, y: Float64Array) => crossProducts(u, y, firstLag, lastLag)
  const maskA = a.mask ?? new Float64Array(a.values.length).fill(1)
  const maskB = b.mask ?? new Float64Array(b.values.length).fill(1)
  return {
    overlap: products(maskA, maskB).map(Math.round),
    sumU: products(a.values, maskB),
    sumY: products(maskA, b.values),
    squaresU: products(squared(a.values), maskB),
    squaresY: products(maskA, squared(b.values)),
  }
}

interface RunningSums {
  readonly sums: Float64Array
  readonly squares: Float64Array
}

function runningSums(values: Float64Array): RunningSums {
  const sums = new Float64Array(values.length + 1)
  const squares = new Float64Array(values.length + 1)
  for (let n = 0; n < values.length; n++) {
    sums[n + 1] = sums[n]! + values[n]!
    squares[n + 1] = squares[n]! + values[n]! ** 2
  }
  return { sums, squares }
}
