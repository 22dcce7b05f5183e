import {
  coherence,
  averageOf,
  segmentedSpectra,
  type CrossSpectra,
  type SpectraSum,
  type Transfer,
} from '../signal/cross-spectra.ts'
import { decimated } from '../signal/decimate.ts'
import { nextPowerOfTwo } from '../signal/fft.ts'
import { given, refused, type Basis, type Given, type Refused, type Result } from '../signal/result.ts'
import { runsOf } from '../signal/segments.ts'
import { jackknifeError, studentQuantile } from '../signal/student.ts'
import { excitationRefusal, type Excitation } from './excitation.ts'
import { fitSecondOrder, GROUPS, type OutputErrorFit } from './output-error.ts'
import {
  secondOrderResponse,
  secondOrderStep,
  simulateSecondOrder,
  type SecondOrder,
} from './second-order.ts'
import { stepFigures, type StepFigures } from './step-figures.ts'
import { BEFORE_S, lastCoherent_hz, stepOf, taperedTransfer } from './transfer-step.ts'

export interface ResponseSeries {
  /** deg/s, of equal length. NaN samples take no part. */
  readonly setpoint: ArrayLike<number>
  readonly gyro: ArrayLike<number>
  readonly rate_hz: number
  /** Indices of samples before which the clock has a gap. */
  readonly breaks?: ArrayLike<number>
  /** Not 0: a motor stood at its limit, no linear estimate there. */
  readonly limited?: ArrayLike<number>
}

export type StepFigureName = keyof StepFigures

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
  /** Which of the estimators agree on the whole curve within 5 % of the step. */
  readonly lackOfFit: number
  readonly lastCoherent_hz: number
  readonly spectra: CrossSpectra
}

export const STEP_METHOD = { id: 'step-response', version: 1 }

/** Length of the curve after the step. */
export const AFTER_S = 0.5
/** Spectra need no more than this: a rate loop is slower than 100 Hz. */
const SPECTRA_RATE_HZ = 500
/** Curves have at least this many values per second. */
const CURVE_RATE_HZ = 1000
const FIT_RATE_HZ = 250
const SEGMENT_S = 2
/** Share of the part that the fit alone supplies by which it may be wrong (our own allowance, no source). */
const TRUST = 0.5
/** Segments of 2 s blur what is left by about this much (measured on simulated loops). */
const FLOOR = 0.01
/** Estimators agree when their curves differ by no more than this share of the step (our own limit). */
const AGREE = 0.05

/**
 * Step response from setpoint to gyro of one axis by three estimators: (a) Wiener, (b) H1 up to the last coherent
 * frequency, (c) second order plus delay by output error. The curve shown is (a) plus what (c), put through the very
 * same estimator, loses by it: where the setpoint excited the loop the data decide, beyond that the fit. Its band adds
 * the jackknife over groups of segments and an allowance for half of what the fit alone supplied.
 * A figure is given plainly when two of the completed (a), the completed (b) and (c) agree on it; else with a caution.
 * Refuses, with the reason, where excitation, coherence, segments or motor headroom do not suffice.
 */
export function stepResponse(series: ResponseSeries): StepResponse | Refused {
  const prepared = prepare(series)
  if (prepared.kind === 'refused') return prepared
  const { u, y, rate_hz, segment, excluded, breaks } = prepared
  const options = { rate_hz, segment, detrend: 'none', breaks, single: true } as const
  const own = segmentedSpectra(u, y, options, GROUPS)
  const spectra = averageOf(own, own.sums)
  const last_hz = lastCoherent_hz(spectra)
  const basis = {
    method: STEP_METHOD,
    samples: prepared.usable,
    segments: spectra.segments,
    exclusions: excluded > 0 ? [{ what: 'motors at their limit', share: excluded }] : [],
  }
  const reason = excitationRefusal(prepared.excitation, spectra, last_hz)
  if (reason) return refused(reason, basis)
  const fit = fitTo(prepared)
  if (!fit) return refused('No stretch of flight is long enough to fit a response to.', basis)
  const answer = new Float64Array(u.length)
  const runs = runsOf([u, y], breaks)
  for (const run of runs) simulateSecondOrder(fit.system, u, rate_hz, answer, run.start, run.end)
  for (let n = 0; n < answer.length; n++) if (!Number.isFinite(u[n]! + y[n]!)) answer[n] = NaN
  const modelled = segmentedSpectra(u, answer, options, GROUPS)
  const finer = Math.max(1, Math.ceil(CURVE_RATE_HZ / rate_hz))
  const curve_hz = rate_hz * finer
  const before = Math.round(BEFORE_S * curve_hz)
  const length = before + Math.round(AFTER_S * curve_hz) + 1
  const fitted = new Float64Array(length)
  fitted.set(secondOrderStep(fit.system, curve_hz, length - before), before)
  const completedBy = (groups: readonly number[], kind: 'wiener' | 'tapered') => {
    const ours = averageOf(own, pick(own.sums, groups))
    const theirs = averageOf(modelled, pick(modelled.sums, groups))
    const weight = kind === 'wiener' ? wienerWeights(ours) : taperWeights(ours, last_hz)
    const raw = stepOf(weighted(ours, weight), segment, rate_hz, AFTER_S, finer)
    const model = stepOf(weighted(theirs, weight), segment, rate_hz, AFTER_S, finer)
    return { weight, raw, model, curve: raw.map((value, n) => value + fitted[n]! - model[n]!) }
  }
  const all = own.sums.map((_, index) => index)
  const a = completedBy(all, 'wiener')
  const b = completedBy(all, 'tapered')
  const replicates = all.map((left) => {
    const { curve, weight } = completedBy(
      all.filter((group) => group !== left),
      'wiener',
    )
    // The fit moves as well, but only what the estimator does not see of it counts.
    const system = fit.without[Math.min(left, fit.without.length - 1)]!
    const seen = stepOf(differenceSeen(spectra, weight, system, fit.system), segment, rate_hz, AFTER_S, finer)
    const other = secondOrderStep(system, curve_hz, length - before)
    return curve.map((value, n) => value - seen[n]! + (n < before ? 0 : other[n - before]! - fitted[n]!))
  })
  const supplied = fitted.map((value, n) => value - a.model[n]!)
  const apart = a.curve.map((value, n) => value - b.curve[n]!)
  const half = bandHalfWidth(replicates, supplied, widened(apart, before))
  const lackOfFit = largest(a.raw.map((value, n) => value - a.model[n]!))
  const t_s = Float64Array.from({ length }, (_, n) => (n - before) / curve_hz)
  const cautions = cautionsOf(lackOfFit, largest(supplied), last_hz, fit, excluded)
  const full: Basis = { ...basis, cautions }
  return {
    kind: 'given',
    t_s,
    curve: given(a.curve, '1', full, {
      low: a.curve.map((value, n) => value - half[n]!),
      high: a.curve.map((value, n) => value + half[n]!),
      coverage: 0.95,
      covers: 'sampling error and estimated bias',
    }),
    wiener: a.raw,
    tapered: b.raw,
    fitted,
    fit,
    figures: figuresOf([a.curve, b.curve, fitted], supplied, replicates, curve_hz, full),
    lackOfFit,
    lastCoherent_hz: last_hz,
    spectra,
  }
}

interface Prepared {
  readonly kind: 'prepared'
  readonly u: Float64Array
  readonly y: Float64Array
  readonly rate_hz: number
  readonly breaks: readonly number[]
  readonly segment: number
  readonly usable: number
  /** Share of samples left out because a motor stood at its limit. */
  readonly excluded: number
  readonly excitation: Excitation
}

/** Brings the series down to at most 1 kHz, about their means, with NaN where the motors left no room. */
function prepare(series: ResponseSeries): Prepared | Refused {
  const { rate_hz: source_hz, setpoint, gyro, limited } = series
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  if (!(source_hz > 0)) throw new Error(`sample rate must be positive: ${source_hz}`)
  const factor = Math.max(1, Math.floor(source_hz / SPECTRA_RATE_HZ))
  const rate_hz = source_hz / factor
  const { samples: u, breaks } = decimated(setpoint, factor, series.breaks)
  const { samples: y } = decimated(gyro, factor, series.breaks)
  let atLimit = 0
  if (limited) {
    for (let n = 0; n < u.length; n++) {
      let hit = false
      for (let k = n * factor; k < (n + 1) * factor; k++) hit ||= limited[k] !== 0
      if (hit) {
        atLimit++
        u[n] = NaN
      }
    }
  }
  const usable = takeMeansOff(u, y)
  const excluded = u.length > 0 ? atLimit / u.length : 0
  const segment = nextPowerOfTwo(Math.round(SEGMENT_S * rate_hz * 0.75))
  const basis = {
    method: STEP_METHOD,
    samples: usable,
    exclusions: excluded > 0 ? [{ what: 'motors at their limit', share: excluded }] : [],
  }
  if (u.length === 0 || runsOf([u, y], breaks).every((run) => run.end - run.start < segment)) {
    return refused(
      excluded > 0.1
        ? 'The motors were at their limit so often that no 2 s in a row are left to estimate a response from.'
        : 'There are no 2 s in a row without a gap to estimate a response from.',
      basis,
    )
  }
  let power = 0
  for (let n = 0; n < u.length; n++) if (Number.isFinite(u[n]! + y[n]!)) power += u[n]! ** 2
  const excitation = { setpointRms_dps: Math.sqrt(power / Math.max(1, usable)), excluded }
  return { kind: 'prepared', u, y, rate_hz, breaks, segment, usable, excluded, excitation }
}

function takeMeansOff(u: Float64Array, y: Float64Array): number {
  let count = 0
  let sumU = 0
  let sumY = 0
  for (let n = 0; n < u.length; n++) {
    if (!Number.isFinite(u[n]! + y[n]!)) continue
    count++
    sumU += u[n]!
    sumY += y[n]!
  }
  for (let n = 0; n < u.length; n++) {
    u[n]! -= sumU / count
    y[n]! -= sumY / count
  }
  return count
}

function fitTo({ u, y, rate_hz, breaks }: Prepared): OutputErrorFit | null {
  const factor = Math.max(1, Math.floor(rate_hz / FIT_RATE_HZ))
  const slowU = decimated(u, factor, breaks)
  const slowY = decimated(y, factor, breaks)
  const runs = runsOf([slowU.samples, slowY.samples], slowU.breaks)
  return fitSecondOrder(slowU.samples, slowY.samples, rate_hz / factor, runs)
}

const pick = (sums: readonly SpectraSum[], groups: readonly number[]) => groups.map((group) => sums[group]!)

function wienerWeights(spectra: CrossSpectra): Float64Array {
  const g2 = coherence(spectra)
  return spectra.uu.map((uu, k) => {
    const power = uu + spectra.yy[k]! * (1 - g2[k]!)
    return power > 0 ? 1 / power : 0
  })
}

function taperWeights(spectra: CrossSpectra, last_hz: number): Float64Array {
  const { uu, f_hz } = spectra
  const ones = { ...spectra, uyRe: uu, uyIm: new Float64Array(uu.length) }
  const fade = taperedTransfer(ones, last_hz).re
  return uu.map((power, k) => (power > 0 && f_hz[k]! < last_hz ? fade[k]! / power : 0))
}

const weighted = (spectra: CrossSpectra, weight: Float64Array): Transfer => ({
  f_hz: spectra.f_hz,
  re: spectra.uyRe.map((value, k) => value * weight[k]!),
  im: spectra.uyIm.map((value, k) => value * weight[k]!),
})

/** What an estimator of these weights sees of the difference of two systems. */
function differenceSeen(
  { f_hz, uu }: CrossSpectra,
  weight: Float64Array,
  one: SecondOrder,
  other: SecondOrder,
): Transfer {
  const re = new Float64Array(f_hz.length)
  const im = new Float64Array(f_hz.length)
  for (let k = 0; k < f_hz.length; k++) {
    const share = weight[k]! * uu[k]!
    if (share < 1e-6) continue
    const a = secondOrderResponse(one, f_hz[k]!)
    const b = secondOrderResponse(other, f_hz[k]!)
    re[k] = share * (a.re - b.re)
    im[k] = share * (a.im - b.im)
  }
  return { f_hz, re, im }
}

const largest = (values: Float64Array): number =>
  values.reduce((most, value) => Math.max(most, Math.abs(value)), 0)

/** Half of the 95 % band: the jackknife, the part taken on trust, how far (a) and (b) lie apart, and a floor. */
function bandHalfWidth(
  replicates: readonly Float64Array[],
  supplied: Float64Array,
  apart: Float64Array,
): Float64Array {
  const t = studentQuantile(0.975, Math.max(3, replicates.length - 1))
  return supplied.map((part, n) => {
    const error = jackknifeError(replicates.map((curve) => curve[n]!))
    return Math.hypot(t * error, TRUST * part, apart[n]!, FLOOR)
  })
}

/** The largest size within `reach` entries to either side. */
function widened(values: Float64Array, reach: number): Float64Array {
  return values.map((_, n) => largest(values.subarray(Math.max(0, n - reach), n + reach + 1)))
}

function cautionsOf(
  lackOfFit: number,
  supplied: number,
  last_hz: number,
  fit: OutputErrorFit,
  excluded: number,
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
  if (excluded > 0.02) {
    cautions.push(
      `Motors stood at their limit for ${(100 * excluded).toFixed(0)} % of the time; those stretches are left out.`,
    )
  }
  return cautions
}

const FIGURES: Readonly<
  Record<StepFigureName, { unit: string; scale: number; tolerance: (value: number) => number }>
> = {
  rise_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(2, 0.1 * value) },
  fullRise_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(2, 0.1 * value) },
  half_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(2, 0.1 * value) },
  peak_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(3, 0.15 * value) },
  overshoot_percent: { unit: '%', scale: 1, tolerance: () => 3 },
  settle2_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(5, 0.2 * value) },
  settle5_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(5, 0.2 * value) },
}

function figuresOf(
  curves: readonly [Float64Array, Float64Array, Float64Array],
  supplied: Float64Array,
  replicates: readonly Float64Array[],
  rate_hz: number,
  basis: Basis,
): StepResponse['figures'] {
  const measured = curves.map((curve) => stepFigures(curve, rate_hz, -BEFORE_S))
  const repeated = replicates.map((curve) => stepFigures(curve, rate_hz, -BEFORE_S))
  const onTrust = [-TRUST, TRUST].map((share) =>
    stepFigures(
      curves[0].map((value, n) => value + share * supplied[n]!),
      rate_hz,
      -BEFORE_S,
    ),
  )
  const t = studentQuantile(0.975, Math.max(3, replicates.length - 1))
  const one = (name: StepFigureName): Result<number> => {
    const { unit, scale, tolerance } = FIGURES[name]
    const value = measured[0]![name]
    const again = repeated.map((figures) => figures[name]).filter((figure) => figure !== null)
    if (value === null || again.length < replicates.length) {
      return refused('The curve, within its band, does not get there in the time shown.', basis)
    }
    const others = measured.slice(1).map((figures) => figures[name])
    const allowed = tolerance(value * scale)
    const near = (a: number | null, b: number | null) =>
      a !== null && b !== null && Math.abs(a - b) * scale <= allowed
    const agree = near(value, others[0]!) || near(value, others[1]!)
    const differences = others.filter((other) => other !== null).map((other) => Math.abs(other - value))
    // The nearest companion measures the bias that is left; with none near, the farthest does.
    const bias = (agree ? Math.min(...differences) : Math.max(...differences, allowed / scale)) * scale
    const trusted = Math.max(...onTrust.map((figures) => Math.abs((figures[name] ?? Infinity) - value)))
    if (trusted === Infinity) return refused('Too much of this figure rests on the fit alone.', basis)
    // No time is known better than to a sample.
    const grain = unit === 'ms' ? scale / rate_hz : 0
    const half = Math.hypot(t * jackknifeError(again) * scale, bias, trusted * scale, grain)
    if (half > Math.max(value * scale, 5)) {
      return refused('The estimators leave this figure too wide a range to be worth a number.', basis)
    }
    const cautions = agree
      ? basis.cautions
      : [...basis.cautions, 'The estimators do not agree on this figure: take it as rough.']
    return given(
      value * scale,
      unit,
      { ...basis, cautions },
      {
        low: value * scale - half,
        high: value * scale + half,
        coverage: 0.95,
        covers: 'sampling error and estimated bias',
      },
    )
  }
  return {
    rise_s: one('rise_s'),
    fullRise_s: one('fullRise_s'),
    half_s: one('half_s'),
    peak_s: one('peak_s'),
    overshoot_percent: one('overshoot_percent'),
    settle2_s: one('settle2_s'),
    settle5_s: one('settle5_s'),
  }
}
