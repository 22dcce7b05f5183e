import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { errorBudget, type ErrorBudget } from '../response/budget.ts'
import { closedLoop, type ClosedLoop } from '../response/closed-loop.ts'
import { stepResponse, type StepResponse } from '../response/step-response.ts'
import { commonSegments, type NoiseDifference, type NoiseMap } from '../signal/noise-map.ts'
import { refused, type Refused } from '../signal/result.ts'
import type { WelchSpectrum } from '../signal/welch.ts'
import { filterEffect, type FilterEffect } from './filter-effect.ts'
import { flightPart } from './flight-part.ts'
import { differenceOf, signalFrequency, spectrumOrReason } from './signal-frequency.ts'
import { lagTwice, trackingOverTime, type LagTwice, type TrackingOverTime } from './tracking-over-time.ts'

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
  /** From the unfiltered to the filtered gyro. */
  readonly filter: FilterEffect | Refused
  readonly lag: LagTwice
  readonly overTime: TrackingOverTime | Refused
}

/** One axis of both flights, on resolutions that can be compared. */
export interface FrequencyComparison {
  readonly axis: Axis
  readonly a: AxisFrequency
  readonly b: AxisFrequency
  readonly difference: NoiseDifference | Refused
}

export const FREQUENCY_METHOD = { id: 'frequency', version: 3 }
const refuse = (reason: string) => refused(reason, { method: FREQUENCY_METHOD })

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
  return sideBySide(axis, ofA, ofB)
}

/** Both flights together; their maps were made with `commonSegments`. */
export const sideBySide = (axis: Axis, a: AxisFrequency, b: AxisFrequency): FrequencyComparison => ({
  ...{ axis, a, b },
  difference: differenceOf(a.noise, b.noise),
})

/** The same for one flight on its own clock; `mapSegment` is the noise map's segment in samples. */
export function axisFrequency(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
  mapSegment: number,
): AxisFrequency {
  const part = flightPart(signals, t0_s, t1_s)
  const gyro = part.samples(`gyro.${axis}`)
  const setpoint = part.samples(`setpoint.${axis}`)
  const { rate_hz } = signals
  if (!gyro) return nothing('The log holds no gyro for this axis.')
  if (gyro.length === 0 || !(rate_hz > 0)) return nothing('The flight has no samples in this span.')
  const { breaks, limits } = part
  const { spectrum, noise } = signalFrequency(signals, axis, 'gyro', t0_s, t1_s, mapSegment)
  const filter = filterEffect(signals, axis, t0_s, t1_s)
  const lag = lagTwice(signals, axis, t0_s, t1_s)
  const overTime = trackingOverTime(signals, axis, t0_s, t1_s)
  if (!setpoint) {
    const missing = refuse('The log holds no setpoint for this axis.')
    return {
      spectrum,
      noise,
      errorSpectrum: missing,
      response: missing,
      loop: missing,
      budget: missing,
      filter,
      lag,
      overTime,
    }
  }
  const series = part.series(axis)
  const response = stepResponse({ ...series, ...(limits ? { limited: limits.atTop } : {}) })
  return {
    spectrum,
    errorSpectrum: spectrumOrReason(
      setpoint,
      rate_hz,
      breaks,
      part.runs([`setpoint.${axis}`, `gyro.${axis}`]),
      gyro,
    ),
    noise,
    response,
    loop: response.kind === 'refused' ? response : closedLoop(response.spectra),
    budget: errorBudget(series),
    filter,
    lag,
    overTime,
  }
}

function nothing(reason: string): AxisFrequency {
  const no = refuse(reason)
  return {
    ...{ spectrum: no, errorSpectrum: no, noise: no, response: no, loop: no, budget: no, filter: no },
    ...{ lag: { lag: no, byPhase: no }, overTime: no },
  }
}
