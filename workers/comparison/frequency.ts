import type { Axis } from '../flight/axes.ts'
import { motorChannels, type FlightSignals } from '../flight/signals.ts'
import { Problem } from '../log/problems.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { errorBudget, type ErrorBudget } from '../response/budget.ts'
import { closedLoop, type ClosedLoop } from '../response/closed-loop.ts'
import { motorLimits } from '../response/headroom.ts'
import { stepResponse, type StepResponse } from '../response/step-response.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'
import {
  commonSegments,
  noiseDifference,
  noiseMap,
  type NoiseDifference,
  type NoiseMap,
} from '../signal/noise-map.ts'
import { refused, type Refused } from '../signal/result.ts'
import { welch, type WelchSpectrum } from '../signal/welch.ts'

/** What one axis of one flight shows over frequency; what can't be given says why. */
export interface AxisFrequency {
  /** Density of the gyro, (deg/s)^2/Hz. */
  readonly spectrum: WelchSpectrum | Refused
  /** Density of setpoint minus gyro. */
  readonly errorSpectrum: WelchSpectrum | Refused
  readonly noise: NoiseMap | Refused
  readonly response: StepResponse | Refused
  readonly loop: ClosedLoop | Refused
  readonly budget: ErrorBudget | Refused
}

/** One axis of both flights, on resolutions that can be compared. */
export interface FrequencyComparison {
  readonly axis: Axis
  readonly a: AxisFrequency
  readonly b: AxisFrequency
  readonly difference: NoiseDifference | Refused
}

const METHOD = { id: 'frequency', version: 1 }
/** Welch segments last about this long: lines 2 Hz apart are told apart. */
const SEGMENT_S = 1
const refuse = (reason: string) => refused(reason, { method: METHOD })

/**
 * Spectra, noise by throttle, step and closed-loop response and error budget of one axis over t0_s..t1_s of the
 * common clock; B's own times are offset_s less. Segments of both flights last equally long, so that their maps
 * and spectra have the same bins.
 */
export function frequencyOf(
  a: FlightSignals,
  b: FlightSignals,
  offset_s: number,
  t0_s: number,
  t1_s: number,
  axis: Axis,
): FrequencyComparison {
  const segments = commonSegments(a.rate_hz, b.rate_hz)
  const ofA = axisFrequency(a, axis, t0_s, t1_s, segments.a)
  const ofB = axisFrequency(b, axis, t0_s - offset_s, t1_s - offset_s, segments.b)
  return { axis, a: ofA, b: ofB, difference: differenceOf(ofA.noise, ofB.noise) }
}

function differenceOf(a: NoiseMap | Refused, b: NoiseMap | Refused): NoiseDifference | Refused {
  if ('kind' in a) return a
  if ('kind' in b) return b
  return noiseDifference(a, b)
}

/** The same for one flight on its own clock; `mapSegment` is the noise map's segment in samples. */
export function axisFrequency(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
  mapSegment: number,
): AxisFrequency {
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const to = firstAfter(signals.t_s, t1_s)
  const part = (samples: Float32Array | undefined) => samples?.subarray(from, to)
  const gyro = part(signals.channels[`gyro.${axis}`])
  const setpoint = part(signals.channels[`setpoint.${axis}`])
  const throttle = part(signals.channels.throttle)
  const { rate_hz } = signals
  if (!gyro) return nothing('The log holds no gyro for this axis.')
  if (gyro.length === 0 || !(rate_hz > 0)) return nothing('The flight has no samples in this span.')
  const breaks = clockBreaks(signals.t_s.subarray(from, to))
  const spectrumOf = (samples: ArrayLike<number>) => spectrumOrReason(samples, rate_hz, breaks)
  const noise = throttle
    ? noiseMap(gyro, throttle, { rate_hz, segment: mapSegment, breaks })
    : refuse('The log holds no throttle to sort the noise by.')
  const spectrum = spectrumOf(gyro)
  if (!setpoint) {
    const missing = refuse('The log holds no setpoint for this axis.')
    return { spectrum, noise, errorSpectrum: missing, response: missing, loop: missing, budget: missing }
  }
  const motors = motorChannels(signals).map((name) => signals.channels[name]!.subarray(from, to))
  const response = stepResponse({
    setpoint,
    gyro,
    rate_hz,
    breaks,
    ...(motors.length > 0 ? { limited: motorLimits(motors).atTop } : {}),
  })
  return {
    spectrum,
    errorSpectrum: spectrumOf(setpoint.map((value, index) => value - (gyro[index] ?? NaN))),
    noise,
    response,
    loop: response.kind === 'refused' ? response : closedLoop(response.spectra),
    budget: errorBudget({ setpoint, gyro, rate_hz, breaks }),
  }
}

function spectrumOrReason(
  samples: ArrayLike<number>,
  rate_hz: number,
  breaks: ArrayLike<number>,
): WelchSpectrum | Refused {
  const wanted = 2 ** Math.round(Math.log2(SEGMENT_S * rate_hz))
  // Four segments at least, or there is no interval to speak of.
  const segment = Math.min(wanted, 2 ** Math.floor(Math.log2(Math.max(2, samples.length / 2.5))))
  if (segment < 16) return refuse('The span is too short for a spectrum.')
  try {
    return welch(samples, { rate_hz, segment, breaks })
  } catch (error) {
    if (error instanceof Problem) return refuse(error.message)
    throw error
  }
}

function nothing(reason: string): AxisFrequency {
  const no = refuse(reason)
  return { spectrum: no, errorSpectrum: no, noise: no, response: no, loop: no, budget: no }
}
