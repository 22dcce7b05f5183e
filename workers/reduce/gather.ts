import type { Columns, ColumnSpans } from './columns.ts'
import { scan, type Pyramid } from './pyramid.ts'

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
  const kept = known?.block === block ? known : null
  const moved = kept ? movedBy(kept.columns, columns) : 0
  for (let column = 0; column < count; column++) {
    const start = edges[column]!
    const end = edges[column + 1]!
    const was = column + moved
    if (
      kept &&
      was >= 0 &&
      was < kept.own.low.length &&
      kept.columns.edges[was] === start &&
      kept.columns.edges[was + 1] === end
    ) {
      own.low[column] = kept.own.low[was]!
      own.high[column] = kept.own.high[was]!
      continue
    }
    // Blocks are dealt out by where they begin: each to one column, none forgotten.
    const firstBlock = Math.floor(start / block)
    const lastBlock = Math.floor(end / block)
    if (lastBlock > firstBlock) scan(lows, highs, firstBlock, lastBlock, column, own.low, own.high)
    else scan(samples, samples, start, end, column, own.low, own.high)
  }
  const spans = { low: own.low.slice(), high: own.high.slice() }
  // The rest of the last block, which begins before the pane's end.
  if (block > 1 && edges[count]! === samples.length) {
    const tail = Math.floor(edges[count]! / block) * block
    const last = count - 1
    scan(samples, samples, Math.max(tail, edges[0]!), edges[count]!, last, spans.low, spans.high)
    const [was, wasHigh] = [own.low[last]!, own.high[last]!]
    if (was < spans.low[last]! || spans.low[last]! !== spans.low[last]!) spans.low[last] = was
    if (wasHigh > spans.high[last]! || spans.high[last]! !== spans.high[last]!) spans.high[last] = wasHigh
  }
  touch(spans)
  return { columns, block, own, spans }
}

/**
 * By how many columns the second lies later than the first; 0 where they are of another width. A guess, in whole numbers
 * to the engine too (by others it looks columns up slowly): what is taken for the same is compared.
 */
function movedBy(first: Columns, second: Columns): number {
  const count = second.edges.length - 1
  const width_s = (second.t1_s - second.t0_s) / count
  const other_s = (first.t1_s - first.t0_s) / (first.edges.length - 1)
  if (!(Math.abs(other_s - width_s) * count <= 0.5 * width_s)) return 0
  return Math.round((second.t0_s - first.t0_s) / width_s) | 0
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
