import { timeTicks, type Ticks } from '../../workers/ticks/ticks.ts'
import type { Span } from './view.svelte.ts'

/** CSS pixels that a tick of the time axis and the space around it take. */
const TICK_PX = 95

/** The ticks of a pane's time axis, on the clock that is `shift_s` behind the common one. */
export function paneTicks({ t0_s, t1_s }: Span, shift_s: number, width_px: number): Ticks {
  return timeTicks(t0_s - shift_s, t1_s - shift_s, Math.max(2, Math.floor(width_px / TICK_PX)))
}

/** Where the grid's upright lines stand in a pane, 0..1. */
export function timeGrid(span: Span, shift_s: number, width_px: number): number[] {
  const { t0_s, t1_s } = span
  return paneTicks(span, shift_s, width_px).values.map((value) => (value + shift_s - t0_s) / (t1_s - t0_s))
}
