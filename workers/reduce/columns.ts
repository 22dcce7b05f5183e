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
/** Blocks of a pyramid may be this share of a column at most, so that an extreme stands where it belongs. */
const BLOCKS_PER_COLUMN = 4

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
 * A NaN sample, and a step of the clock longer than gap_s, break the line. Writes into `into` when it is long enough.
 */
export function columnSpans(
  t_s: Float64Array,
  samples: Float32Array,
  pyramid: Pyramid,
  columns: Columns,
  gap_s: number,
  into?: ColumnSpans,
): ColumnSpans {
  if (t_s.length !== samples.length) throw new Error(`${t_s.length} stamps for ${samples.length} samples`)
  const { edges } = columns
  const count = edges.length - 1
  const spans =
    into && into.low.length >= count
      ? { low: into.low.subarray(0, count), high: into.high.subarray(0, count) }
      : { low: new Float32Array(count), high: new Float32Array(count) }
  const visible = edges[count]! - edges[0]!
  if (visible <= FOLLOWED_SAMPLES * count) follow(t_s, samples, columns, gap_s, spans)
  else gather(samples, pyramid, edges, visible / count, spans)
  return spans
}

/** Few samples: walks along the line, piece by piece. */
function follow(
  t_s: Float64Array,
  samples: Float32Array,
  { t0_s, t1_s, edges }: Columns,
  gap_s: number,
  { low, high }: ColumnSpans,
): void {
  const count = low.length
  low.fill(NaN)
  high.fill(NaN)
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
}

/** Many samples: their extremes from the pyramid's blocks, then neighbours are made to touch. */
function gather(
  samples: Float32Array,
  pyramid: Pyramid,
  edges: Int32Array,
  perColumn: number,
  { low, high }: ColumnSpans,
): void {
  const level = pyramid.levels.findLast(({ block }) => block * BLOCKS_PER_COLUMN <= perColumn)
  const block = level?.block ?? 1
  const lows = level?.min ?? samples
  const highs = level?.max ?? samples
  const count = low.length
  for (let column = 0; column < count; column++) {
    const start = edges[column]!
    const end = edges[column + 1]!
    // Blocks are dealt out by where they begin: each to one column, none forgotten.
    const firstBlock = Math.floor(start / block)
    const lastBlock = Math.floor(end / block)
    if (lastBlock > firstBlock) scan(lows, highs, firstBlock, lastBlock, column, low, high)
    else scan(samples, samples, start, end, column, low, high)
  }
  // The rest of the last block, which begins before the pane's end.
  if (block > 1 && edges[count]! === samples.length) {
    const tail = Math.floor(edges[count]! / block) * block
    const [was, wasHigh] = [low[count - 1]!, high[count - 1]!]
    scan(samples, samples, Math.max(tail, edges[0]!), edges[count]!, count - 1, low, high)
    if (was < low[count - 1]! || low[count - 1]! !== low[count - 1]!) low[count - 1] = was
    if (wasHigh > high[count - 1]! || high[count - 1]! !== high[count - 1]!) high[count - 1] = wasHigh
  }
  touch(low, high)
}

/** Smallest and largest finite value over [from, to) of blocks or samples, into a column; NaN for none. */
function scan(
  lows: Float32Array,
  highs: Float32Array,
  from: number,
  to: number,
  column: number,
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
  low[column] = least <= most ? least : NaN
  high[column] = least <= most ? most : NaN
}

/** Where neighbours leave a space between them, the line crosses it: each takes half. */
function touch(low: Float32Array, high: Float32Array): void {
  for (let column = 1; column < low.length; column++) {
    if (low[column]! > high[column - 1]!) {
      low[column] = high[column - 1] = (low[column]! + high[column - 1]!) / 2
    } else if (high[column]! < low[column - 1]!) {
      high[column] = low[column - 1] = (high[column]! + low[column - 1]!) / 2
    }
  }
}
