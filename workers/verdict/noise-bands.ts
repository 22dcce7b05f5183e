import { AXES } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { windowSamples } from '../signal/windows.ts'
import { detrendInPlace } from '../signal/segments.ts'
import { nextPowerOfTwo, realFft } from '../signal/fft.ts'
import type { MeasureKey } from './comparison.ts'

/** Bands that both logs can show; the upper one is null where a log is too slow for it. */
export interface NoiseBands {
  readonly low_hz: readonly [number, number] | null
  readonly high_hz: readonly [number, number] | null
}

const LOW: readonly [number, number] = [20, 80]
/** A log says nothing right below half its rate: filters roll off there. */
const SURE_SHARE = 0.45

/** The bands within the slower of both logs, the same for A and B. */
export function commonBands(rateA_hz: number, rateB_hz: number): NoiseBands {
  const most_hz = SURE_SHARE * Math.min(rateA_hz, rateB_hz)
  return {
    low_hz: most_hz >= LOW[1] ? LOW : null,
    // Less than an octave is no band to compare.
    high_hz: most_hz >= 2 * LOW[1] ? [LOW[1], Math.min(most_hz, 1000)] : null,
  }
}

/** Power of the gyro in the bands over a stretch, dB re 1 (deg/s)^2, one Hann-windowed transform. Missing samples: nothing. */
export function bandLevels(
  signals: FlightSignals,
  start_s: number,
  end_s: number,
  bands: NoiseBands,
): Partial<Record<MeasureKey, number>> {
  const values: Partial<Record<MeasureKey, number>> = {}
  const from = firstAtOrAfter(signals.t_s, start_s)
  const to = firstAfter(signals.t_s, end_s)
  const count = to - from
  if (count < 32 || (!bands.low_hz && !bands.high_hz)) return values
  // A gap inside would pass for a jump of the signal.
  const expected = (signals.t_s[to - 1]! - signals.t_s[from]!) * signals.rate_hz
  if (Math.abs(expected - (count - 1)) > 2) return values
  const size = nextPowerOfTwo(count)
  const plan = realFft(size)
  const window = windowSamples('hann', count)
  const weight = window.reduce((sum, value) => sum + value * value, 0)
  const re = new Float64Array(plan.bins)
  const im = new Float64Array(plan.bins)
  for (const axis of AXES) {
    const gyro = signals.channels[`gyro.${axis}`]
    if (!gyro) continue
    const part = Float64Array.from(gyro.subarray(from, to))
    if (part.some((value) => !Number.isFinite(value))) continue
    detrendInPlace(part, 'linear')
    const work = new Float64Array(size)
    for (let n = 0; n < count; n++) work[n] = part[n]! * window[n]!
    plan.forward(work, re, im)
    const level = ([low_hz, high_hz]: readonly [number, number]) => {
      let power = 0
      for (let k = 1; k < plan.bins; k++) {
        const f_hz = (k * signals.rate_hz) / size
        if (f_hz >= low_hz && f_hz < high_hz) power += 2 * (re[k]! ** 2 + im[k]! ** 2)
      }
      return 10 * Math.log10(Math.max(power / (weight * size), 1e-12))
    }
    if (bands.low_hz) values[`noiseLow.${axis}`] = level(bands.low_hz)
    if (bands.high_hz) values[`noiseHigh.${axis}`] = level(bands.high_hz)
  }
  return values
}
