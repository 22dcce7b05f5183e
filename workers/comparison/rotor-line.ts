import { AXES } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { risingLine, type RisingLine } from '../signal/motor-lines.ts'
import { commonSegments, noiseMap, type NoiseMap } from '../signal/noise-map.ts'
import { flightPart } from './flight-part.ts'

/** The line that the rotors make, by throttle: found in the noise, not measured. */
export interface RotorLineByThrottle {
  /** Middles of the throttle bins in which there is a line, rising. */
  readonly throttle: Float64Array
  readonly f_hz: Float64Array
  /** Mean height over the noise around it. */
  readonly prominence_db: number
  /** The same per bin of the noise map; NaN where the map shows nothing. */
  readonly byBin_hz: Float64Array
}

/** What rises with throttle below this is the flying, not a rotor (common practice, no source). */
export const LINES_FROM_HZ = 40

/**
 * Looks for a line that rises with throttle in the gyro's noise over t0_s..t1_s of the flight's own clock - the unfiltered
 * gyro's where it is logged - on the axis where it stands out most (see risingLine). A sentence with the reason where throttle
 * or gyro is missing, the rate is too low, or nothing stands out.
 */
export function rotorLineByThrottle(
  signals: FlightSignals,
  t0_s: number,
  t1_s: number,
): RotorLineByThrottle | string {
  const { rate_hz } = signals
  const part = flightPart(signals, t0_s, t1_s)
  const throttle = part.samples('throttle')
  if (!throttle) return 'the log holds no throttle to sort the noise by.'
  if (part.to === part.from || !(rate_hz > 0)) return 'the flight has no samples in this span.'
  if (!(rate_hz > 4 * LINES_FROM_HZ)) return `a log of ${rate_hz.toFixed(0)} Hz is too slow to show rotors.`
  const segment = commonSegments(rate_hz, rate_hz).a
  let best: { readonly map: NoiseMap; readonly line: RisingLine } | null = null
  let heard = false
  for (const axis of AXES) {
    const gyro = part.samples(`unfiltered.${axis}`) ?? part.samples(`gyro.${axis}`)
    if (!gyro) continue
    heard = true
    const map = noiseMap(gyro, throttle, { rate_hz, segment, breaks: part.breaks })
    const line = risingLine(map, LINES_FROM_HZ)
    if (line && (!best || line.prominence_db > best.line.prominence_db)) best = { map, line }
  }
  if (!heard) return 'the log holds no gyro.'
  if (!best) return 'no line in the noise rises with the throttle.'
  const { map, line } = best
  const bins = [...line.f_hz.keys()].filter((bin) => !Number.isNaN(line.f_hz[bin]))
  return {
    throttle: Float64Array.from(bins, (bin) => (map.throttleEdges[bin]! + map.throttleEdges[bin + 1]!) / 2),
    f_hz: Float64Array.from(bins, (bin) => line.f_hz[bin]!),
    prominence_db: line.prominence_db,
    byBin_hz: line.f_hz,
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
