import type { Range } from '../../workers/comparison/ranges.ts'
import { niceTicks, type Ticks } from '../../workers/ticks/ticks.ts'

/** Pixels that a tick's number and the space around it take. */
const TICK_PX = 21

/** The ticks of a row's vertical scale, for its grid and its numbers alike; `factor` as numbers are shown (100 for %). */
export function rowTicks({ min, max }: Range, height_px: number, factor = 1): Ticks {
  return niceTicks(min * factor, max * factor, Math.max(3, Math.floor(height_px / TICK_PX)))
}
