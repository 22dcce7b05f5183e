import {
  channelsOf,
  SHOWN_SIGNALS,
  SIGNAL_WORDS,
  type ShownSignal,
} from '../../workers/comparison/shown-signals.ts'
import { signalFrequency } from '../../workers/comparison/signal-frequency.ts'
import type { Axis } from '../../workers/flight/axes.ts'
import type { FlightSignals } from '../../workers/flight/signals.ts'
import { commonSegments } from '../../workers/signal/noise-map.ts'
import type { WelchSpectrum } from '../../workers/signal/welch.ts'
import type { Report } from './format.ts'

type SignalReport = NonNullable<Report['response']>['a']['axes'][number]['signals'][number]

/** Flying, wash and ringing, frame and rotors, what lies above; the last reaches to half the log's rate. */
const EDGES_HZ = [0.5, 8, 40, 100, 250, Infinity]

/** Every signal that the log holds for this axis, over t0_s..t1_s of its own clock: its size by bands of frequency. */
export function signalReport(signals: FlightSignals, axis: Axis, t0_s: number, t1_s: number): SignalReport[] {
  const held = SHOWN_SIGNALS.filter(
    (signal) => signal === 'error' || channelsOf(signals, signal, axis).length > 0,
  )
  return held.map((signal) => reportOf(signals, signal, axis, t0_s, t1_s))
}

function reportOf(
  signals: FlightSignals,
  signal: ShownSignal,
  axis: Axis,
  t0_s: number,
  t1_s: number,
): SignalReport {
  const { unit } = SIGNAL_WORDS[signal]
  const segment = commonSegments(signals.rate_hz, signals.rate_hz).a
  const { spectrum } = signalFrequency(signals, axis, signal, t0_s, t1_s, segment)
  if ('kind' in spectrum) return { signal, unit, bands: null, segments: null, reason: spectrum.reason }
  return { signal, unit, bands: bandsOf(spectrum), segments: spectrum.segments, reason: null }
}

function bandsOf({ f_hz, density }: WelchSpectrum): NonNullable<SignalReport['bands']> {
  const step_hz = f_hz[1] ?? 0
  const top_hz = f_hz.at(-1) ?? 0
  return EDGES_HZ.slice(0, -1).flatMap((from_hz, index) => {
    const to_hz = Math.min(top_hz, EDGES_HZ[index + 1] ?? top_hz)
    if (!(to_hz > from_hz)) return []
    let power = 0
    f_hz.forEach((f, k) => {
      if (k > 0 && f >= from_hz && f < to_hz) power += (density[k] ?? 0) * step_hz
    })
    return [{ from_hz, to_hz, rms: Math.sqrt(power) }]
  })
}
