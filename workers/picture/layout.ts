import type { ComparisonPicture } from './model.ts'
import { type Box, MARGIN } from './pen.ts'

/** Everything left of a row's curves: the row's name and unit, then the ticks' numbers. */
export const NAME_COLUMN = 66
export const TICK_COLUMN = 46
/** Left of the spectrograms: ticks in Hz. */
const HZ_COLUMN = 46
const LANE_GAP = 12
const ROW_GAP = 10
export const TIME_AXIS = 24
/** The share of the width that a spectrogram of one flight takes. */
const LANE_SHARE = 0.155

/** Heights that rows never fall below, and how the rest is shared out. */
const LEAST = { axis: 92, extra: 62 } as const
const WEIGHT = { axis: 2, extra: 1 } as const

export type RowName = 'roll' | 'pitch' | 'yaw' | 'throttle' | 'motors'

export interface RowBoxes {
  readonly name: RowName
  readonly curves: Box
  /** Present when the row has spectrograms. */
  readonly lanes?: { readonly a: Box; readonly b: Box }
}

/** The rows of a picture, from top to bottom. */
export function rowNames(model: ComparisonPicture): RowName[] {
  const names: RowName[] = model.rows.map((row) => row.axis)
  if (model.throttle !== undefined) names.push('throttle')
  if (model.motors !== undefined) names.push('motors')
  return names
}

const kindOf = (name: RowName): 'axis' | 'extra' =>
  name === 'throttle' || name === 'motors' ? 'extra' : 'axis'

/** True when the axis row has something to show as a spectrogram. */
function hasLanes(model: ComparisonPicture): boolean {
  return (model.spectrograms?.lanes.length ?? 0) > 0 && model.rows.length > 0
}

/** The colour bar stands right of the first extra row; without one it has a strip of its own. */
export function barNeedsStrip(model: ComparisonPicture): boolean {
  return hasLanes(model) && model.throttle === undefined && model.motors === undefined
}
const BAR_STRIP = 46

/** Height that the rows need at least, time axis included. */
export function leastRowsHeight(model: ComparisonPicture): number {
  const names = rowNames(model)
  const rows = names.reduce((sum, name) => sum + LEAST[kindOf(name)] + ROW_GAP, 0)
  return rows + TIME_AXIS + (barNeedsStrip(model) ? BAR_STRIP : 0)
}

/**
 * Lays the rows into the box (their headings are above it, the time axis belongs to it). All edges are whole
 * CSS pixels, so that lines are sharp and pixel images meet their frames.
 */
export function layOutRows(model: ComparisonPicture, box: Box): RowBoxes[] {
  const names = rowNames(model)
  if (names.length === 0) return []
  const lanes = hasLanes(model)
  const laneWidth = Math.round(model.width_px * LANE_SHARE)
  const left = box.x + NAME_COLUMN + TICK_COLUMN
  const lanesWidth = lanes ? HZ_COLUMN + 2 * laneWidth + LANE_GAP + 18 : 0
  const curvesWidth = Math.floor(box.x + box.width - left - lanesWidth)
  const spare = Math.max(0, box.height - leastRowsHeight(model))
  const weights = names.reduce((sum, name) => sum + WEIGHT[kindOf(name)], 0)
  let y = Math.round(box.y)
  return names.map((name): RowBoxes => {
    const kind = kindOf(name)
    const height = Math.floor(LEAST[kind] + (spare * WEIGHT[kind]) / weights)
    const curves: Box = { x: left, y, width: curvesWidth, height }
    y += height + ROW_GAP
    if (!lanes || kind === 'extra') return { name, curves }
    const a: Box = { x: box.x + box.width - 2 * laneWidth - LANE_GAP, y: curves.y, width: laneWidth, height }
    return { name, curves, lanes: { a, b: { ...a, x: a.x + laneWidth + LANE_GAP } } }
  })
}

/** Where the colour bar goes: right of the extra rows, below the lanes' time axis. */
export function barBox(rows: readonly RowBoxes[]): Box | null {
  const last = rows.filter((row) => row.lanes !== undefined).at(-1)?.lanes
  if (last === undefined) return null
  return {
    x: last.a.x,
    y: last.a.y + last.a.height + TIME_AXIS + 6,
    width: last.b.x + last.b.width - last.a.x,
    height: 12,
  }
}

/** The picture's left and right edge of content. */
export function contentBox(model: ComparisonPicture): { x: number; width: number } {
  return { x: MARGIN, width: model.width_px - 2 * MARGIN }
}
