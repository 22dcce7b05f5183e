import type { Range } from '../../workers/comparison/ranges.ts'
import type { ChannelName } from '../../workers/flight/signals.ts'
import { columnsOf, columnSpans, type Columns, type ColumnSpans } from '../../workers/reduce/columns.ts'
import type { Gathered } from '../../workers/reduce/gather.ts'
import {
  fillPixels,
  paintColumn,
  paintRow,
  paintSpans,
  type Pen,
  type Pixels,
  type Rgb,
} from '../../workers/reduce/paint-spans.ts'
import { GAP_MEDIANS } from '../../workers/clock/clock.ts'
import type { LoadedFlight } from './load-flight.ts'
import type { Span } from './view.svelte.ts'

/** A line of a pane: a channel of a flight on the common clock, with its scale. */
export interface TraceLine {
  readonly side: 'a' | 'b'
  readonly channel: ChannelName
  readonly flight: Pick<LoadedFlight, 'signals' | 'pyramids'>
  readonly shift_s: number
  readonly range: Range
  readonly demand: boolean
  /** One of many in its row: thin, and without the flight's marks. */
  readonly thin: boolean
  /** Another trace stands out: this one only hints. */
  readonly faint: boolean
}

export interface TraceColours {
  readonly background: Rgb
  readonly grid: Rgb
  readonly a: Rgb
  readonly b: Rgb
}

/** Steps longer than this many mean steps break a line, so that a gap is drawn as a gap. */
const BREAK_STEPS = 2 * GAP_MEDIANS
const FAINT = 0.16

/** Where a line runs, for the marks along it: what it covers in each column of pixels. */
export interface PaintedLine {
  readonly line: TraceLine
  readonly spans: ColumnSpans
}

/**
 * Paints a pane: grid, then every line, demands below answers, what stands out on top. One column of pixels is one
 * column of time. `ratio` is how many pixels a CSS pixel has.
 */
export function paintTraces(
  pixels: Pixels,
  lines: readonly TraceLine[],
  span: Span,
  grid: { readonly x: readonly number[]; readonly y: readonly number[] },
  colours: TraceColours,
  ratio: number,
): PaintedLine[] {
  fillPixels(pixels, colours.background)
  for (const share of grid.x) paintColumn(pixels, Math.floor(share * pixels.width), colours.grid)
  for (const share of grid.y) paintRow(pixels, Math.round((1 - share) * pixels.height), colours.grid)
  const inOrder = [...lines].sort(
    (one, other) => Number(other.faint) - Number(one.faint) || Number(other.demand) - Number(one.demand),
  )
  return inOrder.flatMap((line) => {
    const { signals, pyramids } = line.flight
    const samples = signals.channels[line.channel]
    const pyramid = pyramids[line.channel]
    if (!samples || !pyramid || signals.t_s.length === 0) return []
    const own = columnsFor(signals.t_s, span.t0_s - line.shift_s, span.t1_s - line.shift_s, pixels.width)
    const gap_s = signals.rate_hz > 0 ? BREAK_STEPS / signals.rate_hz : Infinity
    const spans = columnSpans(signals.t_s, samples, pyramid, own, gap_s, gathered)
    paintSpans(pixels, spans, line.range, penFor(line, colours, ratio))
    return [{ line, spans }]
  })
}

/** A flight's columns as they were found last: every row of a frame has the same. */
interface Found {
  readonly t_s: Float64Array
  readonly columns: Columns
}
/** Two flights, in panes of one width or of two. */
const MOST_FOUND = 4
const lately: Found[] = []
/** What each series' columns held last: a view that is dragged along keeps most of them. */
const gathered = new WeakMap<Float32Array, Gathered>()

function columnsFor(t_s: Float64Array, t0_s: number, t1_s: number, count: number): Columns {
  const known = lately.find(
    (one) =>
      one.t_s === t_s &&
      one.columns.t0_s === t0_s &&
      one.columns.t1_s === t1_s &&
      one.columns.edges.length === count + 1,
  )
  if (known) return known.columns
  const columns = columnsOf(t_s, t0_s, t1_s, count)
  lately.unshift({ t_s, columns })
  lately.length = Math.min(lately.length, MOST_FOUND)
  return columns
}

function penFor({ side, demand, thin, faint }: TraceLine, colours: TraceColours, ratio: number): Pen {
  const width = (demand || thin ? 1 : side === 'a' ? 1.7 : 1.3) * ratio
  // B lies over A and lets it be seen.
  const opacity = faint ? FAINT : side === 'b' && !demand ? 0.88 : 1
  const pen = { colour: colours[side], width, opacity }
  if (!demand) return pen
  const dash = (side === 'a' ? [6, 3] : [2, 3]).map((length) => Math.round(length * ratio))
  return { ...pen, dash: [dash[0] ?? 1, dash[1] ?? 0] }
}
