import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { Problem } from '../log/problems.ts'
import {
  commonSegments,
  noiseDifference,
  noiseMap,
  type NoiseDifference,
  type NoiseMap,
} from '../signal/noise-map.ts'
import type { ChannelName } from '../flight/signals.ts'
import type { Run } from '../signal/segments.ts'
import { refused, type Refused } from '../signal/result.ts'
import { welch, type WelchSpectrum } from '../signal/welch.ts'
import { flightPart } from './flight-part.ts'
import { channelsOf, samplesOf, type ShownSignal } from './shown-signals.ts'

/** One signal of one flight over frequency and throttle. */
export interface SignalFrequency {
  /** Density, (unit of the signal)^2/Hz. */
  readonly spectrum: WelchSpectrum | Refused
  readonly noise: NoiseMap | Refused
}

/** One signal of both flights, on resolutions that can be compared. */
export interface SignalComparison {
  readonly axis: Axis
  readonly signal: ShownSignal
  readonly a: SignalFrequency
  readonly b: SignalFrequency
  readonly difference: NoiseDifference | Refused
}

export const SIGNAL_METHOD = { id: 'signal-frequency', version: 2 }
/** Welch segments last about this long: lines 2 Hz apart are told apart. */
const SEGMENT_S = 1
const refuse = (reason: string) => refused(reason, { method: SIGNAL_METHOD })

/** Spectra and noise by throttle of a signal over t0_s..t1_s of the common clock; B's own times are offset_s less. */
export function signalFrequencyOf(
  a: FlightSignals,
  b: FlightSignals,
  offset_s: number,
  t0_s: number,
  t1_s: number,
  axis: Axis,
  signal: ShownSignal,
): SignalComparison {
  const segments = commonSegments(a.rate_hz, b.rate_hz)
  const ofA = signalFrequency(a, axis, signal, t0_s, t1_s, segments.a)
  const ofB = signalFrequency(b, axis, signal, t0_s - offset_s, t1_s - offset_s, segments.b)
  return { axis, signal, a: ofA, b: ofB, difference: differenceOf(ofA.noise, ofB.noise) }
}

/** B's map less A's, or the reason why one of them is missing. */
export function differenceOf(a: NoiseMap | Refused, b: NoiseMap | Refused): NoiseDifference | Refused {
  if ('kind' in a) return a
  if ('kind' in b) return b
  return noiseDifference(a, b)
}

/** The same for one flight on its own clock; `mapSegment` is the noise map's segment in samples. */
export function signalFrequency(
  signals: FlightSignals,
  axis: Axis,
  signal: ShownSignal,
  t0_s: number,
  t1_s: number,
  mapSegment: number,
): SignalFrequency {
  const part = flightPart(signals, t0_s, t1_s)
  const { from, to } = part
  const samples = samplesOf(signals, signal, axis, from, to)
  if (typeof samples === 'string') return { spectrum: refuse(samples), noise: refuse(samples) }
  const { rate_hz } = signals
  if (to <= from || !(rate_hz > 0)) {
    const empty = refuse('The flight has no samples in this span.')
    return { spectrum: empty, noise: empty }
  }
  const { breaks } = part
  const throttle = part.samples('throttle')
  // One channel for each; none where the signal is made of others.
  const names = channelsOf(signals, signal, axis)
  const runsOf = (k: number, ...more: ChannelName[]) => names[k] && part.runs([names[k], ...more])
  const sortOf = (k: number) => {
    const runs = runsOf(k, 'throttle')
    return runs && part.sorted(runs, mapSegment)
  }
  return {
    spectrum: meanSpectrum(samples.map((one, k) => spectrumOrReason(one, rate_hz, breaks, runsOf(k)))),
    noise: throttle
      ? meanMap(
          samples.map((one, k) => {
            const sorted = sortOf(k)
            const options = { rate_hz, segment: mapSegment, breaks, ...(sorted ? { sorted } : {}) }
            return noiseMap(one, throttle, options)
          }),
        )
      : refuse('The log holds no throttle to sort the noise by.'),
  }
}

/**
 * Welch's density with segments of about a second (of `runs`, where they are at hand), or the reason why there is none. With
 * `less`, that of samples - less.
 */
export function spectrumOrReason(
  samples: ArrayLike<number>,
  rate_hz: number,
  breaks: ArrayLike<number>,
  runs?: readonly Run[],
  less?: ArrayLike<number>,
): WelchSpectrum | Refused {
  const wanted = 2 ** Math.round(Math.log2(SEGMENT_S * rate_hz))
  // Four segments at least, or there is no interval to speak of.
  const segment = Math.min(wanted, 2 ** Math.floor(Math.log2(Math.max(2, samples.length / 2.5))))
  if (segment < 16) return refuse('The span is too short for a spectrum.')
  try {
    return welch(samples, {
      rate_hz,
      segment,
      breaks,
      single: true,
      ...(runs ? { runs } : {}),
      ...(less ? { less } : {}),
    })
  } catch (error) {
    if (error instanceof Problem) return refuse(error.message)
    throw error
  }
}

/**
 * Mean density of several motors. Their noise is not independent (all hear one controller), so the interval stays that of
 * a single one.
 */
function meanSpectrum(spectra: readonly (WelchSpectrum | Refused)[]): WelchSpectrum | Refused {
  const given: WelchSpectrum[] = []
  for (const one of spectra) {
    if ('kind' in one) return one
    given.push(one)
  }
  const first = given[0]!
  if (given.length === 1) return first
  const mean = (part: 'density' | 'low' | 'high') =>
    first[part].map((_, k) => given.reduce((sum, one) => sum + one[part][k]!, 0) / given.length)
  return { ...first, density: mean('density'), low: mean('low'), high: mean('high') }
}

/** Mean power of several motors' maps, dB. */
function meanMap(maps: readonly NoiseMap[]): NoiseMap {
  const first = maps[0]!
  if (maps.length === 1) return first
  const level_db = first.level_db.map(
    (_, cell) =>
      10 * Math.log10(maps.reduce((sum, map) => sum + 10 ** (map.level_db[cell]! / 10), 0) / maps.length),
  )
  return { ...first, level_db }
}
