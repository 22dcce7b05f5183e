import { arrangementOf } from './arrangement.ts'
import type { ComparisonPicture, FlightKey } from './model.ts'
import { type Box, FLIGHTS, MARGIN } from './pen.ts'

/** Everything left of a row's curves: the row's name and unit, then the ticks' numbers. */
export const NAME_COLUMN = 82
const TICK_COLUMN = 46
/** Left of the spectrograms that stand right of the curves: ticks in Hz. */
const HZ_COLUMN = 58
/** Between the two flights' spectrograms or columns. */
const FLIGHT_GAP = 12
const ROW_GAP = 10
/** Between a flight's curves and its spectrogram below. */
const LANE_GAP = 6
export const TIME_AXIS = 24
/** The share of the width that a spectrogram of one flight takes, right of the curves. */
const LANE_SHARE = 0.155

/** Heights that panes never fall below, and how the height that is left is shared out. */
const LEAST = { axis: 88, axisBeside: 62, extra: 60, lane: 42 } as const
const WEIGHT = { axis: 2, extra: 1, lane: 1 } as const

export type RowName = 'roll' | 'pitch' | 'yaw' | 'throttle' | 'motors'

/** One field of curves and whose curves it holds. */
export interface Pane {
  readonly box: Box
  readonly flights: readonly FlightKey[]
}

export interface RowBoxes {
  readonly name: RowName
  /** One for both flights, or A's and B's. */
  readonly panes: readonly Pane[]
  /** Present when the row has spectrograms. */
  readonly lanes?: Record<FlightKey, Box>
}

export interface Layout {
  readonly rows: readonly RowBoxes[]
  /** Panes and spectrograms with nothing below them but a time axis. */
  readonly timeAxes: readonly Box[]
  /** The colour bar without its numbers; null without spectrograms. */
  readonly bar: Box | null
  /** A bar with its numbers at its ends and its meaning before it, instead of below it. */
  readonly barInLine: boolean
  /** The room for legends above the rows: one for both flights, or A's and B's. */
  readonly columns: readonly {
    readonly x: number
    readonly width: number
    readonly flights: readonly FlightKey[]
  }[]
}

/** The rows of a picture, from top to bottom. */
export function rowNames(model: ComparisonPicture): RowName[] {
  const names: RowName[] = model.rows.map((row) => row.axis)
  if (model.throttle !== undefined) names.push('throttle')
  if (model.motors !== undefined) names.push('motors')
  return names
}

const isAxis = (name: RowName): boolean => name !== 'throttle' && name !== 'motors'

/** True when there is something to show as a spectrogram. */
function hasLanes(model: ComparisonPicture): boolean {
  return (model.spectrograms?.lanes.length ?? 0) > 0 && model.rows.length > 0
}

interface RowHeights {
  readonly least: number
  readonly weight: number
}

function heightsOf(model: ComparisonPicture, name: RowName): RowHeights {
  if (!isAxis(name)) return { least: LEAST.extra, weight: WEIGHT.extra }
  if (arrangementOf(model) === 'overlaid') return { least: LEAST.axis, weight: WEIGHT.axis }
  if (!hasLanes(model)) return { least: LEAST.axisBeside, weight: WEIGHT.axis }
  return { least: LEAST.axisBeside + LANE_GAP + LEAST.lane, weight: WEIGHT.axis + WEIGHT.lane }
}

/** Overlaid, the bar stands right of the first row below the axes; without such a row it has a strip below. */
function barStrip(model: ComparisonPicture): number {
  if (!hasLanes(model)) return 0
  if (arrangementOf(model) === 'beside') return 26
  return model.throttle === undefined && model.motors === undefined ? 46 : 0
}

/** Height that the rows need at least, time axis and a strip for the colour bar included. */
export function leastRowsHeight(model: ComparisonPicture): number {
  const rows = rowNames(model).reduce((sum, name) => sum + heightsOf(model, name).least + ROW_GAP, 0)
  return rows + TIME_AXIS + barStrip(model)
}

/**
 * Lays the rows between top and bottom; headings are above, the time axis and the bar's strip belong to it.
 * All edges are whole CSS pixels, so that lines are sharp and pixel images meet their frames.
 */
export function layOutRows(model: ComparisonPicture, top: number, bottom: number): Layout {
  const beside = arrangementOf(model) === 'beside'
  const lanes = hasLanes(model)
  const left = MARGIN + NAME_COLUMN + TICK_COLUMN
  const right = model.width_px - MARGIN
  const laneWidth = Math.round(model.width_px * LANE_SHARE)
  const firstLane = right - 2 * laneWidth - FLIGHT_GAP
  const curvesRight = lanes && !beside ? firstLane - HZ_COLUMN : right
  const half = Math.floor((curvesRight - left - FLIGHT_GAP) / 2)
  const columns = beside
    ? FLIGHTS.map((flight, index) => ({
        x: left + index * (half + FLIGHT_GAP),
        width: half,
        flights: [flight],
      }))
    : [{ x: left, width: curvesRight - left, flights: FLIGHTS }]

  const heights = rowNames(model).map((name) => heightsOf(model, name))
  const spare = Math.max(0, bottom - top - leastRowsHeight(model))
  const weights = heights.reduce((sum, row) => sum + row.weight, 0)
  let y = Math.round(top)
  const rows = rowNames(model).map((name, index): RowBoxes => {
    const { least, weight } = heights[index] as RowHeights
    const height = Math.floor(least + (spare * weight) / weights)
    const withLane = lanes && isAxis(name)
    const extra = height - least
    const paneHeight =
      beside && withLane ? LEAST.axisBeside + Math.floor((extra * WEIGHT.axis) / weight) : height
    const rowTop = y
    y += height + ROW_GAP
    const panes = columns.map(({ x, width, flights }) => ({
      box: { x, y: rowTop, width, height: paneHeight },
      flights,
    }))
    const below = rowTop + paneHeight + LANE_GAP
    const laneAt = (x: number): Box =>
      beside
        ? { x, y: below, width: half, height: rowTop + height - below }
        : { x, y: rowTop, width: laneWidth, height }
    const step = (beside ? half : laneWidth) + FLIGHT_GAP
    const start = beside ? left : firstLane
    return withLane ? { name, panes, lanes: { a: laneAt(start), b: laneAt(start + step) } } : { name, panes }
  })
  return { rows, columns, timeAxes: lowest(rows), bar: barBox(rows, beside, right), barInLine: beside }
}

/** For each column of panes or spectrograms its lowest box. */
function lowest(rows: readonly RowBoxes[]): Box[] {
  const byColumn = new Map<number, Box>()
  for (const row of rows) {
    for (const pane of row.panes) byColumn.set(pane.box.x, pane.box)
    for (const lane of row.lanes === undefined ? [] : [row.lanes.a, row.lanes.b]) byColumn.set(lane.x, lane)
  }
  return [...byColumn.values()]
}

function barBox(rows: readonly RowBoxes[], beside: boolean, right: number): Box | null {
  const lanes = rows.filter((row) => row.lanes !== undefined).at(-1)?.lanes
  if (lanes === undefined) return null
  if (!beside) {
    const y = lanes.a.y + lanes.a.height + TIME_AXIS + 6
    return { x: lanes.a.x, y, width: right - lanes.a.x, height: 12 }
  }
  const bottom = Math.max(...lowest(rows).map((box) => box.y + box.height))
  const width = Math.round(lanes.a.width / 2)
  return { x: right - width - 34, y: bottom + TIME_AXIS + 6, width, height: 12 }
}
