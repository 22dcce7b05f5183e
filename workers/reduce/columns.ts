import { gather, type Gathered } from './gather.ts'
import type { Pyramid } from './pyramid.ts'
import { firstAtOrAfter } from './reduce.ts'

/**
 * The columns of a drawn pane for one flight, found once and shared by all its series: column k holds the samples
 * edges[k] up to, not including, edges[k + 1].
 */
export interface Columns {
  readonly t0_s: number
  readonly t1_s: number
  /** columns + 1 sample indices, never decreasing. */
  readonly edges: Int32Array
}

/** Values of one series per column. NaN in both: nothing to draw there, the line is broken. */
export interface ColumnSpans {
  readonly low: Float32Array
  readonly high: Float32Array
}

/** With at most so many samples a column on average the line is followed from sample to sample. */
const FOLLOWED_SAMPLES = 6

/**
 * Divides t0_s..t1_s of a flight's own clock into columns of equal width. t_s must not decrease.
 * @throws Error when there is no column or the span is turned round
 */
export function columnsOf(t_s: Float64Array, t0_s: number, t1_s: number, columns: number): Columns {
  if (!(Number.isInteger(columns) && columns >= 1)) throw new Error(`columns must be at least 1: ${columns}`)
  if (!(t1_s > t0_s)) throw new Error(`span ends before it begins: ${t0_s} to ${t1_s}`)
  const edges = new Int32Array(columns + 1)
  const width_s = (t1_s - t0_s) / columns
  let at = firstAtOrAfter(t_s, t0_s)
  const end = firstAtOrAfter(t_s, t1_s, at)
  // A column holds about as many samples as the one before it.
  let stride = 0
  for (let column = 0; column <= columns; column++) {
    const next = column === columns ? end : firstNear(t_s, t0_s + column * width_s, at, end, at + stride)
    stride = next - at
    edges[column] = at = next
  }
  return { t0_s, t1_s, edges }
}

/** As `firstAtOrAfter`, within [low, high], looking around a guess first: on an even clock that is the whole search. */
function firstNear(t_s: Float64Array, t: number, low: number, high: number, guess: number): number {
  let at = Math.min(high, Math.max(low, guess))
  let [from, to] = [low, at]
  let reach = 1
  if (at < high && t_s[at]! < t) {
    while (at < high && t_s[at]! < t) {
      from = at + 1
      at += reach
      reach *= 2
    }
    to = Math.min(high, at)
  } else {
    while (at > low && t_s[at - 1]! >= t) {
      to = at - 1
      at -= reach
      reach *= 2
    }
    from = Math.max(low, at)
  }
  return firstAtOrAfter(t_s, t, from, to)
}

/**
 * What the line through a series covers in each column: its lowest and highest value there, the pieces between
 * neighbouring samples included, so that spans of neighbouring columns touch and drawing them draws the line.
 * No extreme is lost, whatever the length; with many samples a column an extreme may stand a quarter of a column off.
 * A NaN sample, and a step of the clock longer than gap_s, break the line.
 * @param kept what was gathered of each series last, written anew: when the view is only moved along, most of it holds
 */
export function columnSpans(
  t_s: Float64Array,
  samples: Float32Array,
  pyramid: Pyramid,
  columns: Columns,
  gap_s: number,
  kept?: WeakMap<Float32Array, Gathered>,
): ColumnSpans {
  if (t_s.length !== samples.length) throw new Error(`${t_s.length} stamps for ${samples.length} samples`)
  const { edges } = columns
  const count = edges.length - 1
  const visible = edges[count]! - edges[0]!
  if (visible <= FOLLOWED_SAMPLES * count) return follow(t_s, samples, columns, gap_s)
  const gathered = gather(samples, pyramid, columns, kept?.get(samples))
  kept?.set(samples, gathered)
  return gathered.spans
}

/** Few samples: walks along the line, piece by piece. */
function follow(
  t_s: Float64Array,
  samples: Float32Array,
  { t0_s, t1_s, edges }: Columns,
  gap_s: number,
): ColumnSpans {
  const count = edges.length - 1
  const low = new Float32Array(count).fill(NaN)
  const high = new Float32Array(count).fill(NaN)
  const scale = count / (t1_s - t0_s)
  const take = (column: number, value: number) => {
    // Written so that the first value replaces the NaN.
    if (!(low[column]! <= value)) low[column] = value
    if (!(high[column]! >= value)) high[column] = value
  }
  const from = Math.max(0, edges[0]! - 1)
  const to = Math.min(samples.length - 1, edges[count]!)
  for (let n = from; n <= to; n++) {
    const value = samples[n]!
    if (value !== value) continue
    const x = (t_s[n]! - t0_s) * scale
    if (x >= 0 && x < count) take(Math.floor(x), value)
    if (n === to) break
    const next = samples[n + 1]!
    if (next !== next || t_s[n + 1]! - t_s[n]! > gap_s) continue
    const nextX = (t_s[n + 1]! - t0_s) * scale
    const first = Math.max(0, Math.floor(x))
    const last = Math.min(count - 1, Math.floor(nextX))
    const slope = nextX > x ? (next - value) / (nextX - x) : 0
    if (x < 0 && nextX >= 0) take(0, value - slope * x)
    // At every edge between two columns that the piece crosses, both hold the value there.
    for (let column = first; column < last; column++) {
      const atEdge = value + slope * (column + 1 - x)
      take(column, atEdge)
      take(column + 1, atEdge)
    }
    if (x <= count && nextX > count) take(count - 1, value + slope * (count - x))
  }
  return { low, high }
}
