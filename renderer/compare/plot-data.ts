import uPlot from 'uplot'
import type { DrawnFlight } from '../../workers/comparison/ranges.ts'
import type { ChannelName } from '../../workers/flight/signals.ts'
import { reduce, type Reduced } from '../../workers/reduce/reduce.ts'
import { GAP_MEDIANS } from '../../workers/signal/clock-breaks.ts'
import type { Span } from './view.svelte.ts'

/** A line of a row: a channel of a flight, moved onto the common clock. */
export interface RowLine {
  readonly flight: DrawnFlight
  readonly shift_s: number
  readonly channel: ChannelName
}

/** Steps longer than this many mean steps break a line, so that a gap is drawn as a gap. */
const BREAK_STEPS = 2 * GAP_MEDIANS

/**
 * The visible part of a row's lines as the chart takes it: one common x and a y per line; null breaks a line,
 * undefined only says that another line has a sample there. At most two points a column and line.
 */
export function rowData(lines: readonly RowLine[], span: Span, columns: number): uPlot.AlignedData {
  const tables = lines.map(({ flight, shift_s, channel }) => {
    const samples = flight.signals.channels[channel]
    const pyramid = flight.pyramids[channel]
    if (!samples || !pyramid) return [[], []]
    const { t_s, rate_hz } = flight.signals
    const gap_s = rate_hz > 0 ? BREAK_STEPS / rate_hz : Infinity
    const part = reduce(t_s, samples, pyramid, span.t0_s - shift_s, span.t1_s - shift_s, columns, gap_s)
    return asTable(part, shift_s, (span.t1_s - span.t0_s) / columns)
  })
  if (tables.length === 0) return [[]]
  const [first] = tables
  const sameX = tables.every((table) => sameTimes(table[0], first?.[0]))
  if (sameX && first) return [first[0], ...tables.map((table) => table[1])] as uPlot.AlignedData
  // Gaps (null) are kept; where only another line has a sample, the line goes on.
  return uPlot.join(
    tables as uPlot.AlignedData[],
    tables.map(() => [0, 2]),
  )
}

type Table = [x_s: number[], y: (number | null)[]]

function asTable({ t_s, min, max, exact }: Reduced, shift_s: number, column_s: number): Table {
  const x_s: number[] = []
  const y: (number | null)[] = []
  const add = (at_s: number, value: number) => {
    // The chart wants x to rise; a repeated stamp is moved by a millionth of a column, which no eye can see.
    const last_s = x_s.at(-1)
    x_s.push(last_s !== undefined && at_s <= last_s ? last_s + column_s * 1e-6 : at_s)
    y.push(Number.isNaN(value) ? null : value)
  }
  let pen = 0
  for (let index = 0; index < t_s.length; index++) {
    const at_s = (t_s[index] ?? 0) + shift_s
    const low = min[index] ?? NaN
    const high = max[index] ?? NaN
    if (exact) {
      add(at_s, low)
      continue
    }
    // The extreme nearer to where the line stands comes first, so that it jumps least.
    const highFirst = Math.abs(high - pen) < Math.abs(low - pen)
    add(at_s - column_s / 4, highFirst ? high : low)
    add(at_s + column_s / 4, highFirst ? low : high)
    pen = highFirst ? low : high
  }
  return [x_s, y]
}

function sameTimes(a: ArrayLike<number> | undefined, b: ArrayLike<number> | undefined): boolean {
  if (!a || !b || a.length !== b.length) return false
  return a[0] === b[0] && a[a.length - 1] === b[b.length - 1] && a[a.length >> 1] === b[b.length >> 1]
}
