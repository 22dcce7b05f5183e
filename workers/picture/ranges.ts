import { niceRange } from '../ticks/ticks.ts'
import type { PictureTrace, SpectrogramLane } from './model.ts'

/** One scale for several curves: round ends that hold every value. */
export interface CommonRange {
  readonly yMin: number
  readonly yMax: number
}

/**
 * A scale around zero that holds all given curves of both flights, for rates. Give it the curves of one axis,
 * or of all axes when they are to be compared with each other. `least` keeps a quiet axis from being blown up
 * until its noise looks like flying. NaN is skipped.
 */
export function commonRateRange(traces: readonly PictureTrace[], least = 20): CommonRange {
  let largest = least
  for (const trace of traces) {
    for (const value of trace.y) if (Math.abs(value) > largest) largest = Math.abs(value)
  }
  if (!Number.isFinite(largest)) throw new RangeError(`a curve holds ${largest}`)
  const { max } = niceRange(0, largest, 4)
  return { yMin: -max, yMax: max }
}

/**
 * One range of levels for the spectrograms of both flights: from the `lowShare` quantile of all cells to the
 * `highShare` quantile, widened to whole fives of decibels and at least 20 dB. Null when no cell holds a level.
 * At most about 200,000 cells are looked at, evenly spread.
 */
export function commonLevelRange(
  lanes: readonly Pick<SpectrogramLane, 'level_db'>[],
  lowShare = 0.1,
  highShare = 0.999,
): { min_db: number; max_db: number } | null {
  const total = lanes.reduce((sum, lane) => sum + lane.level_db.length, 0)
  const step = Math.max(1, Math.floor(total / 200_000))
  const levels: number[] = []
  for (const lane of lanes) {
    for (let index = 0; index < lane.level_db.length; index += step) {
      const level = lane.level_db[index] as number
      if (Number.isFinite(level)) levels.push(level)
    }
  }
  if (levels.length === 0) return null
  const sorted = Float64Array.from(levels).sort()
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number
  const max_db = Math.ceil(at(highShare) / 5) * 5
  return { min_db: Math.min(max_db - 20, Math.floor(at(lowShare) / 5) * 5), max_db }
}
