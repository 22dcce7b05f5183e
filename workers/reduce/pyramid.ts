/**
 * Min/max pyramid of a series, so that a plot of any width needs two values per column whatever the length.
 */

/** Each level halves the number of blocks this often: 4 times fewer. */
const FANOUT = 4

export interface PyramidLevel {
  /** Samples per block. */
  readonly block: number
  /** Smallest and largest finite sample of each block; NaN for a block without one. */
  readonly min: Float32Array
  readonly max: Float32Array
}

export interface Pyramid {
  readonly length: number
  /** From the finest to the coarsest. */
  readonly levels: readonly PyramidLevel[]
}

/**
 * Builds the levels: blocks of `base` samples, then four times as many each, until one block covers all.
 * NaN (and infinite) samples take no part; a block of nothing else is NaN. Costs 2.7/base values per sample.
 */
export function buildPyramid(samples: Float32Array, base = 8): Pyramid {
  if (!(Number.isInteger(base) && base >= 2)) throw new Error(`pyramid base must be at least 2: ${base}`)
  const levels: PyramidLevel[] = []
  let block = base
  let min: Float32Array = new Float32Array(Math.ceil(samples.length / base))
  let max: Float32Array = new Float32Array(min.length)
  for (let k = 0; k < min.length; k++) {
    scan(samples, samples, k * base, Math.min(samples.length, (k + 1) * base), k, min, max)
  }
  levels.push({ block, min, max })
  while (min.length > 1) {
    const count = Math.ceil(min.length / FANOUT)
    const coarserMin = new Float32Array(count)
    const coarserMax = new Float32Array(count)
    for (let k = 0; k < count; k++) {
      scan(min, max, k * FANOUT, Math.min(min.length, (k + 1) * FANOUT), k, coarserMin, coarserMax)
    }
    block *= FANOUT
    min = coarserMin
    max = coarserMax
    levels.push({ block, min, max })
  }
  return { length: samples.length, levels }
}

/**
 * Smallest finite value of `lows` and largest of `highs` over [from, to), written at an index of `low` and `high`; NaN
 * where there is none.
 */
export function scan(
  lows: Float32Array,
  highs: Float32Array,
  from: number,
  to: number,
  at: number,
  low: Float32Array,
  high: Float32Array,
): void {
  let least = Infinity
  let most = -Infinity
  for (let n = from; n < to; n++) {
    const below = lows[n]!
    const above = highs[n]!
    if (below < least && below > -Infinity) least = below
    if (above > most && above < Infinity) most = above
  }
  low[at] = least <= most ? least : NaN
  high[at] = least <= most ? most : NaN
}

/** Smallest and largest finite sample over [from, to), from the coarsest blocks that fit. NaN when there is none. */
export function extremesOf(
  samples: Float32Array,
  pyramid: Pyramid,
  from: number,
  to: number,
): { readonly min: number; readonly max: number } {
  if (pyramid.length !== samples.length) {
    throw new Error(`pyramid of ${pyramid.length} samples used with ${samples.length}`)
  }
  let min = Infinity
  let max = -Infinity
  const [low, high] = [new Float32Array(1), new Float32Array(1)]
  const take = (lows: Float32Array, highs: Float32Array, start: number, end: number) => {
    scan(lows, highs, start, end, 0, low, high)
    if (low[0]! < min) min = low[0]!
    if (high[0]! > max) max = high[0]!
  }
  // Climb from both ends: what sticks out of whole blocks is taken at the finer level.
  let lows = samples
  let highs = samples
  let start = Math.max(0, from)
  let end = Math.min(samples.length, to)
  let unit = 1
  for (const level of pyramid.levels) {
    const step = level.block / unit
    const first = Math.ceil(start / step)
    const last = Math.floor(end / step)
    if (first >= last) break
    take(lows, highs, start, first * step)
    take(lows, highs, last * step, end)
    lows = level.min
    highs = level.max
    start = first
    end = last
    unit = level.block
  }
  take(lows, highs, start, end)
  return min <= max ? { min, max } : { min: NaN, max: NaN }
}
