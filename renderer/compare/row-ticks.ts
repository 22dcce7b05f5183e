import type { Range } from '../../workers/comparison/ranges.ts'
import { niceTicks, type Ticks } from '../../workers/ticks/ticks.ts'

/** Pixels that a tick's number and the space around it take. */
const TICK_PX = 21
/** Closer than this numbers touch. */
const LEAST_TICK_PX = 13

/**
 * The ticks of a row's vertical scale, for its grid and its numbers alike; `factor` as numbers are shown (100 for %).
 * One number alone says nothing of a scale: where there is room for two, two are asked for.
 */
export function rowTicks({ min, max }: Range, height_px: number, factor = 1): Ticks {
  const room = Math.max(2, Math.floor(height_px / TICK_PX))
  const ticks = niceTicks(min * factor, max * factor, room)
  if (ticks.values.length >= Math.min(3, room)) return ticks
  const most = Math.max(2, Math.floor(height_px / LEAST_TICK_PX))
  for (let atMost = room + 1; atMost <= most; atMost++) {
    const closer = niceTicks(min * factor, max * factor, atMost)
    if (closer.values.length >= Math.min(3, room)) return closer
  }
  return ticks
}
