import { AXES } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'
import { risingLine } from '../signal/motor-lines.ts'
import { noiseMap } from '../signal/noise-map.ts'

/** The line that the rotors make, by throttle: found in the noise, not measured. */
export interface RotorLineByThrottle {
  /** Middles of the throttle bins in which there is a line, rising. */
  readonly throttle: Float64Array
  readonly f_hz: Float64Array
  /** Mean height over the noise around it. */
  readonly prominence_db: number
}

/** Below this the pilot's own movements are louder than any rotor (common practice, no source). */
const FROM_HZ = 30

/**
 * Looks for a line that rises with throttle in the gyro's noise over the whole flight, on the axis where it stands out
 * most (see risingLine). Null where throttle or gyro is missing, the rate is too low, or nothing stands out.
 */
export function rotorLineByThrottle(signals: FlightSignals): RotorLineByThrottle | null {
  const { channels, rate_hz, t_s } = signals
  const throttle = channels.throttle
  if (!throttle || !(rate_hz > 4 * FROM_HZ)) return null
  const segment = 2 ** Math.max(5, Math.round(Math.log2(rate_hz / 8)))
  const breaks = clockBreaks(t_s)
  const lines = AXES.flatMap((axis) => {
    const gyro = channels[`gyro.${axis}`]
    if (!gyro) return []
    const map = noiseMap(gyro, throttle, { rate_hz, segment, breaks })
    const line = risingLine(map, FROM_HZ)
    return line ? [{ map, line }] : []
  })
  const best = lines.sort((a, b) => b.line.prominence_db - a.line.prominence_db)[0]
  if (!best) return null
  const { throttleEdges } = best.map
  const bins = [...best.line.f_hz.keys()].filter((bin) => !Number.isNaN(best.line.f_hz[bin]))
  return {
    throttle: Float64Array.from(bins, (bin) => (throttleEdges[bin]! + throttleEdges[bin + 1]!) / 2),
    f_hz: Float64Array.from(bins, (bin) => best.line.f_hz[bin]!),
    prominence_db: best.line.prominence_db,
  }
}

/** The line's frequency at a throttle: between the bins by a straight line, at the ends held; NaN outside by more than a bin. */
export function rotorFrequency_hz({ throttle, f_hz }: RotorLineByThrottle, at: number): number {
  const last = throttle.length - 1
  const width = last > 0 ? (throttle[last]! - throttle[0]!) / last : 1
  if (!(at >= throttle[0]! - width && at <= throttle[last]! + width)) return NaN
  if (at <= throttle[0]!) return f_hz[0]!
  if (at >= throttle[last]!) return f_hz[last]!
  const next = throttle.findIndex((edge) => edge >= at)
  const [x0, x1] = [throttle[next - 1]!, throttle[next]!]
  return f_hz[next - 1]! + ((at - x0) / (x1 - x0)) * (f_hz[next]! - f_hz[next - 1]!)
}
