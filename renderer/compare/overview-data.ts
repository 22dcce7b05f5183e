import { AXES } from '../../workers/flight/axes.ts'
import { motorChannels } from '../../workers/flight/signals.ts'
import { columnsOf, columnSpans, type Columns } from '../../workers/reduce/columns.ts'
import { GAP_MEDIANS } from '../../workers/clock/clock.ts'
import type { LoadedFlight } from './load-flight.ts'
import type { Span } from './view.svelte.ts'

/** A whole flight in columns of pixels. */
export interface FlightGlance {
  /** Largest |gyro| of any axis, deg/s; NaN in a gap and outside the flight. */
  readonly turn_dps: Float32Array
  /** 1 where a motor stood at its upper end. */
  readonly saturated: Uint8Array
  /** 1 where the flight has no samples although it goes on after it. */
  readonly gap: Uint8Array
}

/** A motor at this share of its command is at its end (common practice, no source). */
const SATURATED = 0.995
/** A gap is shown from this many mean steps on, and from this share of a column. */
const GAP_STEPS = 2 * GAP_MEDIANS

/** What the strip shows of a flight, over a span of the flight's own clock. */
export function glanceAt({ signals, pyramids }: LoadedFlight, span: Span, columns: number): FlightGlance {
  const turn_dps = new Float32Array(columns).fill(NaN)
  const saturated = new Uint8Array(columns)
  const { t_s, channels } = signals
  const plan = columnsOf(t_s, span.t0_s, span.t1_s, columns)
  for (const axis of AXES) {
    const [samples, pyramid] = [channels[`gyro.${axis}`], pyramids[`gyro.${axis}`]]
    if (!samples || !pyramid) continue
    const { low, high } = columnSpans(t_s, samples, pyramid, plan, Infinity)
    for (let column = 0; column < columns; column++) {
      const size = Math.max(Math.abs(low[column]!), Math.abs(high[column]!))
      if (!(turn_dps[column]! >= size)) turn_dps[column] = size
    }
  }
  for (const motor of motorChannels(signals)) {
    const [samples, pyramid] = [channels[motor], pyramids[motor]]
    if (!samples || !pyramid) continue
    const { high } = columnSpans(t_s, samples, pyramid, plan, Infinity)
    for (let column = 0; column < columns; column++) if (high[column]! >= SATURATED) saturated[column] = 1
  }
  return { turn_dps, saturated, gap: gapsIn(t_s, signals.rate_hz, plan) }
}

/** Columns that a gap of the clock reaches into. */
function gapsIn(t_s: Float64Array, rate_hz: number, { t0_s, t1_s, edges }: Columns): Uint8Array {
  const columns = edges.length - 1
  const gap = new Uint8Array(columns)
  const limit_s = GAP_STEPS / rate_hz
  if (!(limit_s > 0)) return gap
  const perSecond = columns / (t1_s - t0_s)
  for (let n = 1; n < t_s.length; n++) {
    if (!(t_s[n]! - t_s[n - 1]! > limit_s)) continue
    const from = Math.max(0, Math.floor((t_s[n - 1]! - t0_s) * perSecond))
    const to = Math.min(columns - 1, Math.floor((t_s[n]! - t0_s) * perSecond))
    gap.fill(1, from, to + 1)
  }
  return gap
}
