import { extremesOf, type Pyramid } from './pyramid.ts'

/** A visible span of a series, small enough to draw. */
export interface Reduced {
  readonly t_s: Float64Array
  /** NaN breaks the line. */
  readonly min: Float32Array
  readonly max: Float32Array
  /** True: these are the samples themselves, and min is max. */
  readonly exact: boolean
}

/**
 * The span t0_s..t1_s in `columns` columns of equal width: per column the smallest and largest sample at the
 * column's middle, so no visible extreme is lost. Columns without a finite sample are NaN: gaps stay gaps.
 * With no more than two samples per column the samples themselves come back, with one more on either side so that
 * lines reach the edge, and with a NaN inside every step longer than gap_s.
 * t_s must not decrease; repeated stamps are allowed. Series of one flight reduced alike share t_s.
 */
export function reduce(
  t_s: Float64Array,
  samples: Float32Array,
  pyramid: Pyramid,
  t0_s: number,
  t1_s: number,
  columns: number,
  gap_s = Infinity,
): Reduced {
  if (t_s.length !== samples.length) throw new Error(`${t_s.length} stamps for ${samples.length} samples`)
  if (!(Number.isInteger(columns) && columns >= 1)) throw new Error(`columns must be at least 1: ${columns}`)
  if (!(t1_s >= t0_s)) throw new Error(`span ends before it begins: ${t0_s} to ${t1_s}`)
  const from = firstAtOrAfter(t_s, t0_s)
  const to = firstAfter(t_s, t1_s)
  if (to - from <= 2 * columns) {
    return exactly(t_s, samples, Math.max(0, from - 1), Math.min(t_s.length, to + 1), gap_s)
  }
  const width_s = (t1_s - t0_s) / columns
  const reduced = {
    t_s: new Float64Array(columns),
    min: new Float32Array(columns),
    max: new Float32Array(columns),
    exact: false,
  }
  let start = from
  for (let column = 0; column < columns; column++) {
    const end = column === columns - 1 ? to : firstAtOrAfter(t_s, t0_s + (column + 1) * width_s, start, to)
    const extremes = extremesOf(samples, pyramid, start, end)
    reduced.t_s[column] = t0_s + (column + 0.5) * width_s
    reduced.min[column] = extremes.min
    reduced.max[column] = extremes.max
    start = end
  }
  return reduced
}

function exactly(t_s: Float64Array, samples: Float32Array, from: number, to: number, gap_s: number): Reduced {
  let gaps = 0
  for (let n = from + 1; n < to; n++) if (t_s[n]! - t_s[n - 1]! > gap_s) gaps++
  const time = new Float64Array(Math.max(0, to - from) + gaps)
  const values = new Float32Array(time.length)
  let at = 0
  for (let n = from; n < to; n++) {
    if (n > from && t_s[n]! - t_s[n - 1]! > gap_s) {
      time[at] = 0.5 * (t_s[n]! + t_s[n - 1]!)
      values[at++] = NaN
    }
    time[at] = t_s[n]!
    values[at++] = samples[n]!
  }
  return { t_s: time, min: values, max: values, exact: true }
}

/**
 * One line through a reduced span, x and y of equal length: per column its two extremes, the one nearer to the
 * line's end first, so that the line jumps least. NaN breaks the line. Two points per column in every case but
 * `exact`, so series that share t_s share x.
 */
export function asLine(reduced: Reduced): { readonly x: Float64Array; readonly y: Float32Array } {
  if (reduced.exact) return { x: reduced.t_s, y: reduced.min }
  const count = reduced.t_s.length
  const x = new Float64Array(2 * count)
  const y = new Float32Array(2 * count)
  let pen = NaN
  for (let k = 0; k < count; k++) {
    const min = reduced.min[k]!
    const max = reduced.max[k]!
    const maxFirst = Math.abs(max - pen) < Math.abs(min - pen)
    x[2 * k] = x[2 * k + 1] = reduced.t_s[k]!
    y[2 * k] = maxFirst ? max : min
    y[2 * k + 1] = pen = maxFirst ? min : max
  }
  return { x, y }
}

/** Index of the first stamp >= t; the end when there is none. Stamps must not decrease. */
export function firstAtOrAfter(t_s: Float64Array, t: number, low = 0, high = t_s.length): number {
  while (low < high) {
    const middle = (low + high) >>> 1
    if (t_s[middle]! < t) low = middle + 1
    else high = middle
  }
  return low
}

/** Index of the first stamp > t; the end when there is none. Stamps must not decrease. */
export function firstAfter(t_s: Float64Array, t: number, low = 0, high = t_s.length): number {
  while (low < high) {
    const middle = (low + high) >>> 1
    if (t_s[middle]! <= t) low = middle + 1
    else high = middle
  }
  return low
}
