import { difference, sum } from '../signal/arithmetic.ts'
import { averageOf, segmentedSpectra, type CrossSpectra } from '../signal/cross-spectra.ts'
import { decimated } from '../signal/decimate.ts'
import { given, refused, type Basis, type Given, type Refused, type Result } from '../signal/result.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import { runsOfMeans } from '../signal/segments.ts'
import { jackknifeError, studentQuantile } from '../signal/student.ts'
import { excitationRefusal } from './excitation.ts'
import { fitSecondOrder, type OutputErrorFit } from './output-error.ts'
import { GROUPS } from './output-error-trials.ts'
import { prepareSeries, type PreparedSeries, type ResponseSeries } from './response-series.ts'
import { secondOrderStep, simulateSecondOrder } from './second-order.ts'
import { completed, curvesWithoutEach, taperWeights, wienerWeights, type Place } from './step-estimators.ts'
import { figuresOf, type StepFigureName } from './step-figure-results.ts'
import { AFTER_S, BEFORE_S, lastCoherent_hz } from './transfer-step.ts'

export type { ResponseSeries } from './response-series.ts'
export type { StepFigureName } from './step-figure-results.ts'

export interface StepResponse {
  readonly kind: 'given'
  /** Times of all curves, from BEFORE_S before the step. */
  readonly t_s: Float64Array
  /** The answer to a unit step, with its band: Wiener's estimate, completed by the fit where nothing excited it. */
  readonly curve: Given<Float64Array>
  /** The three estimators as they are. */
  readonly wiener: Float64Array
  readonly tapered: Float64Array
  readonly fitted: Float64Array
  readonly fit: OutputErrorFit
  readonly figures: Readonly<Record<StepFigureName, Result<number>>>
  /** Largest difference between Wiener's estimate and what the same estimator makes of the fit, share of the step. */
  readonly lackOfFit: number
  readonly lastCoherent_hz: number
  readonly spectra: CrossSpectra
}

export const STEP_METHOD = { id: 'step-response', version: 2 }

/** Curves have at least this many values per second. */
const CURVE_RATE_HZ = 1000
const FIT_RATE_HZ = 250
/** Share of the part that the fit alone supplies by which it may be wrong (our own allowance, no source). */
const TRUST = 0.5
/** Segments of 2 s blur what is left by about this much (measured on whole simulated flights, see the response study). */
const FLOOR = 0.02
/** Estimators agree when their curves differ by no more than this share of the step (our own limit). */
const AGREE = 0.05

/**
 * Step response from setpoint to gyro of one axis by three estimators: (a) Wiener, (b) H1 up to the last coherent
 * frequency, (c) second order plus delay by output error. The curve shown is (a) plus what (c), put through the very
 * same estimator, loses by it: where the setpoint excited the loop the data decide, beyond that the fit. Its band adds
 * the jackknife over groups of segments, an allowance for half of what the fit alone supplied, how far (a) and (b) lie
 * apart, and a fiftieth. A figure is given plainly when two of the completed (a), the completed (b) and (c) agree on
 * it; else with a caution. Refuses, with the reason, where excitation, coherence, segments or motor headroom do not do.
 */
export function stepResponse(series: ResponseSeries): StepResponse | Refused {
  return withScratch((scratch) => estimated(series, scratch))
}

function estimated(series: ResponseSeries, scratch: Scratch): StepResponse | Refused {
  const prepared = prepareSeries(series, STEP_METHOD, scratch)
  if (prepared.kind === 'refused') return prepared
  const { u, y, rate_hz, segment, runs } = prepared
  const options = { rate_hz, segment, detrend: 'none', runs, single: true } as const
  const own = segmentedSpectra(u, y, options, GROUPS)
  const spectra = averageOf(own)
  const last_hz = lastCoherent_hz(spectra)
  const basis = {
    method: STEP_METHOD,
    samples: prepared.usable,
    segments: spectra.segments,
    exclusions: prepared.exclusions,
  }
  const reason = excitationRefusal(prepared.excitation, spectra, last_hz)
  if (reason) return refused(reason, basis)
  const fit = withScratch((room) => fitTo(prepared, room))
  if (!fit) return refused('No stretch of flight is long enough to fit a response to.', basis)
  const modelled = segmentedSpectra(u, answerOf(fit, prepared, scratch), options, GROUPS)
  const finer = Math.max(1, Math.ceil(CURVE_RATE_HZ / rate_hz))
  const curve_hz = rate_hz * finer
  const before = Math.round(BEFORE_S * curve_hz)
  const length = before + Math.round(AFTER_S * curve_hz) + 1
  const fitted = new Float64Array(length)
  fitted.set(secondOrderStep(fit.system, curve_hz, length - before), before)
  const place: Place = { segment, rate_hz, finer, before, fitted }
  const theirs = averageOf(modelled)
  const a = completed(spectra, theirs, wienerWeights(spectra), place)
  const b = completed(spectra, theirs, taperWeights(spectra, last_hz), place)
  const replicates = curvesWithoutEach(own, modelled, fit, place)
  const supplied = difference(fitted, a.model)
  const apart = difference(a.curve, b.curve)
  const half = bandHalfWidth(replicates, supplied, widened(apart, before))
  const lackOfFit = largest(difference(a.raw, a.model))
  const t_s = Float64Array.from({ length }, (_, n) => (n - before) / curve_hz)
  const full: Basis = { ...basis, cautions: cautionsOf(lackOfFit, largest(supplied), last_hz, fit, prepared) }
  return {
    kind: 'given',
    t_s,
    curve: given(a.curve, '1', full, {
      low: difference(a.curve, half),
      high: sum(a.curve, half),
      coverage: 0.95,
      covers: 'sampling error and estimated bias',
    }),
    wiener: a.raw,
    tapered: b.raw,
    fitted,
    fit,
    figures: figuresOf([a.curve, b.curve, fitted], supplied, replicates, curve_hz, full, TRUST),
    lackOfFit,
    lastCoherent_hz: last_hz,
    spectra,
  }
}

function fitTo({ u, y, rate_hz, breaks, runs }: PreparedSeries, scratch: Scratch): OutputErrorFit | null {
  const factor = Math.max(1, Math.floor(rate_hz / FIT_RATE_HZ))
  const slowU = decimated(u, factor, breaks, scratch.doubles)
  const slowY = decimated(y, factor, breaks, scratch.doubles)
  return fitSecondOrder(slowU.samples, slowY.samples, rate_hz / factor, runsOfMeans(runs, factor))
}

/** The fit's noiseless answer to the flown setpoint, NaN where the series are. */
function answerOf(
  { system }: OutputErrorFit,
  { u, rate_hz, runs }: PreparedSeries,
  scratch: Scratch,
): Float64Array {
  const answer = scratch.doubles(u.length).fill(NaN)
  for (const { start, end } of runs) simulateSecondOrder(system, u, rate_hz, answer, start, end)
  return answer
}

function largest(values: Float64Array, from = 0, to = values.length): number {
  let most = 0
  for (let n = from; n < to; n++) most = Math.max(most, Math.abs(values[n]!))
  return most
}

/** Half of the 95 % band: the jackknife, the part taken on trust, how far (a) and (b) lie apart, and a floor. */
function bandHalfWidth(
  replicates: readonly Float64Array[],
  supplied: Float64Array,
  apart: Float64Array,
): Float64Array {
  const t = studentQuantile(0.975, Math.max(3, replicates.length - 1))
  const column = new Float64Array(replicates.length)
  return supplied.map((part, n) => {
    for (let k = 0; k < column.length; k++) column[k] = replicates[k]![n]!
    return Math.hypot(t * jackknifeError(column), TRUST * part, apart[n]!, FLOOR)
  })
}

/** The largest size within `reach` entries to either side. */
function widened(values: Float64Array, reach: number): Float64Array {
  return values.map((_, n) => largest(values, Math.max(0, n - reach), Math.min(values.length, n + reach + 1)))
}

function cautionsOf(
  lackOfFit: number,
  supplied: number,
  last_hz: number,
  fit: OutputErrorFit,
  { excitation }: PreparedSeries,
): string[] {
  const cautions: string[] = []
  if (lackOfFit > AGREE) {
    cautions.push(
      'The loop does not answer like a second-order system: compare A with B rather than trust the absolute curve.',
    )
  }
  if (supplied > 0.1) {
    cautions.push(
      `The setpoint moved too slowly to show the first rise: above ${last_hz.toFixed(0)} Hz the curve follows a fitted model.`,
    )
  }
  if (!fit.settled) cautions.push('The fit behind the curve did not settle.')
  if (excitation.excluded > 0.02) {
    const share = (100 * excitation.excluded).toFixed(0)
    cautions.push(`Motors stood at their limit for ${share} % of the time; those stretches are left out.`)
  }
  return cautions
}
