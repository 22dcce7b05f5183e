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

/** Ranges of levels end at whole steps; no level of a 32-bit float lies beyond so many. */
const STEP_DB = 5
const MOST_STEPS = 1024

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
  // Only the step that a quantile falls into counts: counting by steps finds it without sorting.
  const below = new Uint32Array(2 * MOST_STEPS)
  const above = new Uint32Array(2 * MOST_STEPS)
  let count = 0
  for (const { level_db } of lanes) {
    for (let index = 0; index < level_db.length; index += step) {
      const steps = (level_db[index] as number) / STEP_DB
      // NaN and levels beyond any dB value of a 32-bit float.
      if (!(steps > -MOST_STEPS && steps < MOST_STEPS - 1)) continue
      below[Math.floor(steps) + MOST_STEPS]!++
      above[Math.ceil(steps) + MOST_STEPS]!++
      count++
    }
  }
  if (count === 0) return null
  const max_db = STEP_DB * stepAt(above, Math.round(highShare * (count - 1)))
  return {
    min_db: Math.min(max_db - 20, STEP_DB * stepAt(below, Math.round(lowShare * (count - 1)))),
    max_db,
  }
}

/** The step that holds the value of this rank, counted from 0. */
function stepAt(counts: Uint32Array, rank: number): number {
  let seen = 0
  const at = counts.findIndex((count) => (seen += count) > rank)
  return at - MOST_STEPS
}
