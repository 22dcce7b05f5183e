import type { Columns, ColumnSpans } from './columns.ts'
import type { Pyramid } from './pyramid.ts'

/** Blocks of a pyramid may be this share of a column at most, so that an extreme stands where it belongs. */
const BLOCKS_PER_COLUMN = 4

/** What was gathered for the columns of a series. */
export interface Gathered {
  readonly columns: Columns
  /** Samples per block that the extremes were taken from; 1 for the samples themselves. */
  readonly block: number
  /** Extremes of each column alone. */
  readonly own: ColumnSpans
  /** The same with neighbours made to touch. */
  readonly spans: ColumnSpans
}

/**
 * The extremes of many samples a column, from the pyramid's blocks, then neighbours are made to touch. A column that
 * `known` holds with the same samples and blocks is taken from there, so that the result is the same with it and without.
 */
export function gather(
  samples: Float32Array,
  pyramid: Pyramid,
  columns: Columns,
  known: Gathered | undefined,
): Gathered {
  const { edges } = columns
  const count = edges.length - 1
  const perColumn = (edges[count]! - edges[0]!) / count
  const level = pyramid.levels.findLast(({ block }) => block * BLOCKS_PER_COLUMN <= perColumn)
  const block = level?.block ?? 1
  const lows = level?.min ?? samples
  const highs = level?.max ?? samples
  const own = { low: new Float32Array(count), high: new Float32Array(count) }
  const before = known?.block === block ? known : NONE
  const beforeEdges = before.columns.edges
  const moved = movedBy(before.columns, columns)
  for (let column = 0; column < count; column++) {
    const start = edges[column]!
    const end = edges[column + 1]!
    const was = column + moved
    if (
      was >= 0 &&
      was < beforeEdges.length - 1 &&
      beforeEdges[was] === start &&
      beforeEdges[was + 1] === end
    ) {
      own.low[column] = before.own.low[was]!
      own.high[column] = before.own.high[was]!
      continue
    }
    // Blocks are dealt out by where they begin: each to one column, none forgotten.
    const firstBlock = Math.floor(start / block)
    const lastBlock = Math.floor(end / block)
    if (lastBlock > firstBlock) scan(lows, highs, firstBlock, lastBlock, column, own)
    else scan(samples, samples, start, end, column, own)
  }
  const spans = { low: own.low.slice(), high: own.high.slice() }
  // The rest of the last block, which begins before the pane's end.
  if (block > 1 && edges[count]! === samples.length) {
    const tail = Math.floor(edges[count]! / block) * block
    const last = count - 1
    scan(samples, samples, Math.max(tail, edges[0]!), edges[count]!, last, spans)
    const [was, wasHigh] = [own.low[last]!, own.high[last]!]
    if (was < spans.low[last]! || spans.low[last]! !== spans.low[last]!) spans.low[last] = was
    if (wasHigh > spans.high[last]! || spans.high[last]! !== spans.high[last]!) spans.high[last] = wasHigh
  }
  touch(spans)
  return { columns, block, own, spans }
}

const FAR = 2 ** 30

const nothing = { low: new Float32Array(0), high: new Float32Array(0) }
const NONE: Gathered = {
  columns: { t0_s: 0, t1_s: 0, edges: new Int32Array(1) },
  block: 1,
  own: nothing,
  spans: nothing,
}

/** By how many columns the second lies later than the first, at most 2^30; 0 where they are of another width. */
function movedBy(first: Columns, second: Columns): number {
  const count = second.edges.length - 1
  const width_s = (second.t1_s - second.t0_s) / count
  const other_s = (first.t1_s - first.t0_s) / (first.edges.length - 1)
  if (!(Math.abs(other_s - width_s) * count <= 0.5 * width_s)) return 0
  const moved = Math.round((second.t0_s - first.t0_s) / width_s)
  // A whole number to the engine too: by another, it would look up the columns slowly.
  return Math.max(-FAR, Math.min(FAR, moved)) | 0
}

/** Smallest and largest finite value over [from, to) of blocks or samples, into a column; NaN for none. */
function scan(
  lows: Float32Array,
  highs: Float32Array,
  from: number,
  to: number,
  column: number,
  { low, high }: ColumnSpans,
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
function touch({ low, high }: ColumnSpans): void {
  for (let column = 1; column < low.length; column++) {
    if (low[column]! > high[column - 1]!) {
      low[column] = high[column - 1] = (low[column]! + high[column - 1]!) / 2
    } else if (high[column]! < low[column - 1]!) {
      high[column] = low[column - 1] = (high[column]! + low[column - 1]!) / 2
    }
  }
}
