import { AXES } from '../flight/axes.ts'
import type { Commands } from './commands.ts'
import type { Draft } from './detect.ts'

/** Hands at rest: setpoints below this, deg/s, throttle within this band (common practice, no source). */
const STILL_DPS = 45
const STEADY = 0.12
/** Stretches of this length, so that there are several to pair. */
export const HOVER_S = 0.5
/** Time kept from what a manoeuvre leaves behind, s. */
const AFTER_S = 0.5

/** Half-second stretches of quiet flight away from every manoeuvre. Without a throttle it might be
 * the bench, without any stick or setpoint the hands might be busy: then there are none. */
export function findHovering(commands: Commands, others: readonly Draft[]): Draft[] {
  const { throttle, rate_hz, setpoint } = commands
  if (!throttle || AXES.every((axis) => setpoint[axis] === null)) return []
  const busy = new Uint8Array(throttle.length)
  for (const { start, end } of others)
    busy.fill(1, Math.max(0, Math.floor(start)), Math.min(busy.length, Math.ceil(end + AFTER_S * rate_hz)))
  for (const axis of AXES) {
    const samples = setpoint[axis]
    if (!samples) continue
    for (let n = 0; n < busy.length; n++) if (!(Math.abs(samples[n]!) < STILL_DPS)) busy[n] = 1
  }
  const size = Math.round(HOVER_S * rate_hz)
  const least = 0.5 * commands.usualThrottle
  const drafts: Draft[] = []
  for (let start = 0; start + size <= busy.length;) {
    let low = Infinity
    let high = -Infinity
    let n = start
    for (; n < start + size; n++) {
      const value = throttle[n]!
      if (busy[n] || !(value >= least)) break
      low = Math.min(low, value)
      high = Math.max(high, value)
    }
    if (n < start + size) start = n + 1
    else if (high - low > STEADY) start += size >> 2
    else {
      drafts.push({
        kind: 'hover',
        axis: null,
        direction: 0,
        start,
        stop: null,
        end: start + size,
        stroke: null,
        step: NaN,
      })
      start += size
    }
  }
  return drafts
}
