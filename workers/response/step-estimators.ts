import {
  averagesWithoutEach,
  coherence,
  crossesWithoutEach,
  type CrossSpectra,
  type SegmentedSpectra,
  type Transfer,
} from '../signal/cross-spectra.ts'
import { difference, product, sum } from '../signal/arithmetic.ts'
import type { OutputErrorFit } from './output-error.ts'
import { secondOrderResponse, secondOrderStep, type SecondOrder } from './second-order.ts'
import { AFTER_S, stepOf, taperedTransfer } from './transfer-step.ts'

/** Where and how finely curves are computed. */
export interface Place {
  readonly segment: number
  readonly rate_hz: number
  /** Values of a curve per sample. */
  readonly finer: number
  /** Values before the step. */
  readonly before: number
  /** The fit's own step response. */
  readonly fitted: Float64Array
}

export interface Completed {
  /** The estimator as it is. */
  readonly raw: Float64Array
  /** What it makes of the fit's noiseless answer to the same setpoint. */
  readonly model: Float64Array
  /** raw plus what the estimator loses of the fit. */
  readonly curve: Float64Array
}

/** An estimate completed by the fit: ours + fit - (the fit put through the same estimator). */
export function completed(
  ours: CrossSpectra,
  theirs: CrossSpectra,
  weight: Float64Array,
  place: Place,
): Completed {
  const raw = step(weighted(ours, weight), place)
  const model = step(weighted(theirs, weight), place)
  return { raw, model, curve: difference(sum(raw, place.fitted), model) }
}

/**
 * The completed Wiener curve with each group of segments left out in turn. The fit moves as well (by its own
 * groups), but only that part of its movement counts which the estimator does not see.
 */
export function curvesWithoutEach(
  own: SegmentedSpectra,
  modelled: SegmentedSpectra,
  fit: OutputErrorFit,
  place: Place,
): Float64Array[] {
  const ours = averagesWithoutEach(own)
  const theirs = crossesWithoutEach(modelled)
  const curve_hz = place.rate_hz * place.finer
  return ours.map((spectra, left) => {
    const weight = wienerWeights(spectra)
    const system = fit.without[Math.min(left, fit.without.length - 1)]!
    const seen = differenceSeen(spectra, weight, system, fit.system)
    const other = theirs[left]!
    putLess(seen.re, spectra.uyRe, other.uyRe, weight)
    putLess(seen.im, spectra.uyIm, other.uyIm, weight)
    const curve = step(seen, place)
    addAt(curve, place.before, secondOrderStep(system, curve_hz, curve.length - place.before))
    return curve
  })
}

/** seen = (ours - theirs) weight - seen */
function putLess(seen: Float64Array, ours: Float64Array, theirs: Float64Array, weight: Float64Array): void {
  for (let k = 0; k < seen.length; k++) seen[k] = (ours[k]! - theirs[k]!) * weight[k]! - seen[k]!
}

function addAt(curve: Float64Array, at: number, more: Float64Array): void {
  for (let n = 0; n < more.length; n++) curve[at + n]! += more[n]!
}

const step = (transfer: Transfer, { segment, rate_hz, finer }: Place): Float64Array =>
  stepOf(transfer, segment, rate_hz, AFTER_S, finer)

/**
 * Estimator (a), Wiener, as weights on S_uy: H = S_uy / (S_uu + S_nn) with the measured noise S_nn = S_yy (1 - g2), so
 * that what the setpoint did not excite stays at zero instead of blowing up.
 */
export function wienerWeights(spectra: CrossSpectra): Float64Array {
  const g2 = coherence(spectra)
  const { uu, yy } = spectra
  const weights = new Float64Array(uu.length)
  for (let k = 0; k < weights.length; k++) {
    const power = uu[k]! + yy[k]! * (1 - g2[k]!)
    if (power > 0) weights[k] = 1 / power
  }
  return weights
}

/** Estimator (b), H1 faded out towards the last coherent frequency, as weights on S_uy. */
export function taperWeights(spectra: CrossSpectra, last_hz: number): Float64Array {
  const { uu, f_hz } = spectra
  const ones = { ...spectra, uyRe: uu, uyIm: new Float64Array(uu.length) }
  const fade = taperedTransfer(ones, last_hz).re
  return uu.map((power, k) => (power > 0 && f_hz[k]! < last_hz ? fade[k]! / power : 0))
}

const weighted = (spectra: CrossSpectra, weight: Float64Array): Transfer => ({
  f_hz: spectra.f_hz,
  re: product(spectra.uyRe, weight),
  im: product(spectra.uyIm, weight),
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
