import { timeTicks, type Ticks } from '../../workers/ticks/ticks.ts'
import type { Span } from './view.svelte.ts'

/** CSS pixels that a tick of the time axis and the space around it take. */
const TICK_PX = 95

interface Found {
  readonly from_s: number
  readonly to_s: number
  readonly atMost: number
  readonly ticks: Ticks
}
/** What was found last, on the clocks of A and of B: every row of a frame asks for the same. */
const lately: Found[] = []
const MOST_FOUND = 2

/** The ticks of a pane's time axis, on the clock that is `shift_s` behind the common one. */
export function paneTicks({ t0_s, t1_s }: Span, shift_s: number, width_px: number): Ticks {
  const [from_s, to_s] = [t0_s - shift_s, t1_s - shift_s]
  const atMost = Math.max(2, Math.floor(width_px / TICK_PX))
  const known = lately.find((one) => one.from_s === from_s && one.to_s === to_s && one.atMost === atMost)
  if (known) return known.ticks
  const ticks = timeTicks(from_s, to_s, atMost)
  lately.unshift({ from_s, to_s, atMost, ticks })
  lately.length = Math.min(lately.length, MOST_FOUND)
  return ticks
}

/** Where the grid's upright lines stand in a pane, 0..1. */
export function timeGrid(span: Span, shift_s: number, width_px: number): number[] {
  const { t0_s, t1_s } = span
  return paneTicks(span, shift_s, width_px).values.map((value) => (value + shift_s - t0_s) / (t1_s - t0_s))
}
