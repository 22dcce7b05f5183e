import { crossSpectra, coherence } from '../signal/cross-spectra.ts'
import { nextPowerOfTwo } from '../signal/fft.ts'
import { refused, type Basis, type Refused } from '../signal/result.ts'
import type { Run } from '../signal/segments.ts'
import { inStretches } from '../signal/stretches.ts'
import { bestDelay, CoreSums, shapeResidual, TAPS_EACH_SIDE } from './budget-fits.ts'
import { slowFactor, slowSeries } from './slow-series.ts'
import type { ResponseSeries } from './step-response.ts'

/** Parts of the mean square of setpoint - gyro; they add up to the total. (deg/s)^2 */
export interface BudgetParts {
  /** A steady difference. */
  readonly offset: number
  /** What the delay alone costs. */
  readonly delay: number
  /** What too much or too little gain costs on top. */
  readonly gain: number
  /** What the shape of the response costs on top: slow rise, overshoot. */
  readonly shape: number
  /** What the setpoint does not explain: wind, wash, noise, nonlinearity. */
  readonly residual: number
}
export type BudgetPart = keyof BudgetParts

export interface ErrorBudget extends Basis {
  readonly kind: 'given'
  /** Of the parts and the total. */
  readonly unit: '(deg/s)^2'
  readonly parts: BudgetParts
  /** Mean square of the error over the same samples, (deg/s)^2: the parts' sum. */
  readonly total: number
  readonly rms_dps: number
  readonly delay_s: number
  readonly gain: number
  readonly offset_dps: number
  /** (1 - g2) S_yy summed over frequency, (deg/s)^2: the residual below 250 Hz by spectra, for comparison; null when too short. */
  readonly incoherent: number | null
  /** Share of the samples of the span that took part. */
  readonly used: number
}

export const BUDGET_METHOD = { id: 'error-budget', version: 1 }

export interface BudgetOptions {
  /** Delays are looked for up to this, 0.15 s when left out. */
  readonly maxDelay_s?: number
}

/** Ends are always left out; less than this share is not worth saying. */
const LEFT_OUT = 0.02
/** Distance of the shape's taps. */
const TAP_STEP_S = 0.005

/**
 * Where the tracking error comes from, by nested fits of the gyro to the setpoint, each with one thing more: nothing;
 * an offset; a delay; a gain; a shape (17 taps, about 5 ms apart, around the delay). What each takes off the mean square is
 * its part, the rest is residual (with all that is faster than 250 Hz in logs of 1 kHz and more); so the parts add up to the total. All fits use the same samples: those far
 * enough from every gap, NaN and end for the longest reach. The order matters (what delay and shape share goes to
 * the delay) and is fixed. Refuses when fewer than 100 samples are left or the setpoint stands still.
 */
export function errorBudget(series: ResponseSeries, options: BudgetOptions = {}): ErrorBudget | Refused {
  const { setpoint, gyro } = series
  // Delay, gain and shape are fitted to means.
  const { setpoint: u, gyro: y, runs } = slowSeries(series)
  const factor = slowFactor(series.rate_hz)
  const rate_hz = series.rate_hz / factor
  const spacing = Math.max(1, Math.round(TAP_STEP_S * rate_hz))
  const mostDelay = Math.max(1, Math.round((options.maxDelay_s ?? 0.15) * rate_hz))
  const reach = mostDelay + TAPS_EACH_SIDE * spacing + 3
  const core = runs
    .map(({ start, end }): Run => ({ start: start + reach, end: end - reach }))
    .filter(({ start, end }) => end > start)
  const samples = core.reduce((sum, { start, end }) => sum + end - start, 0)
  const basis = { method: BUDGET_METHOD, samples: samples * factor }
  const used = (samples * factor) / setpoint.length
  if (samples < 100) return refused('There is too little flight in a row to split the error.', basis)
  const sums = new CoreSums(u, y, core, samples)
  const fast = fastErrors(setpoint, gyro, u, y, factor, core) / samples
  if (!(sums.varianceU > 0))
    return refused('The setpoint stands still: all of the error is the gyro itself.', basis)
  const slow = sums.meanSquareError
  const offset_dps = sums.meanY - sums.meanU
  const afterOffset = Math.max(0, slow - offset_dps ** 2)
  const found = bestDelay(sums, u, y, mostDelay, afterOffset)
  const afterGain = found.variance - found.covariance ** 2 / found.varianceU
  const gain = found.covariance / found.varianceU
  const usesGain = afterGain < found.cost
  const shaped = shapeResidual(u, y, core, found.delay, spacing, usesGain ? gain : 1, sums)
  const beforeShape = usesGain ? afterGain : found.cost
  const residual = Math.min(shaped, beforeShape)
  return {
    kind: 'given',
    parts: {
      offset: slow - afterOffset,
      delay: afterOffset - found.cost,
      gain: found.cost - beforeShape,
      shape: beforeShape - residual,
      residual: residual + fast,
    },
    total: slow + fast,
    rms_dps: Math.sqrt(slow + fast),
    delay_s: found.delay / rate_hz,
    gain,
    offset_dps,
    incoherent: incoherentPower(u, y, rate_hz, runs),
    unit: '(deg/s)^2',
    ...basis,
    segments: null,
    cautions: [],
    exclusions:
      used < 1 - LEFT_OUT ? [{ what: 'next to gaps, ends and missing values', share: 1 - used }] : [],
    used,
  }
}

/** Sum over the core's means of the error's variance inside each: what is too fast for any delay, gain or shape. */
function fastErrors(
  setpoint: ArrayLike<number>,
  gyro: ArrayLike<number>,
  u: Float64Array,
  y: Float64Array,
  factor: number,
  core: readonly Run[],
): number {
  if (factor === 1) return 0
  let sum = 0
  for (const { start, end } of core) {
    inStretches(end - start, (from, to) => {
      if (factor === 4 && setpoint instanceof Float32Array && gyro instanceof Float32Array)
        sum += fastErrorsOfFour(setpoint, gyro, u, y, start + from, start + to)
      else sum += fastErrorsOf(setpoint, gyro, u, y, factor, start + from, start + to)
    })
  }
  return sum / factor
}

function fastErrorsOf(
  setpoint: ArrayLike<number>,
  gyro: ArrayLike<number>,
  u: Float64Array,
  y: Float64Array,
  factor: number,
  from: number,
  to: number,
): number {
  let sum = 0
  let k = from * factor
  for (let n = from; n < to; n++) {
    const mean = u[n]! - y[n]!
    for (const next = k + factor; k < next; k++) {
      const apart = setpoint[k]! - gyro[k]! - mean
      sum += apart * apart
    }
  }
  return sum
}

/** From 2 kHz to 500 Hz, written out: an inner loop costs more than its four differences. */
function fastErrorsOfFour(
  setpoint: Float32Array,
  gyro: Float32Array,
  u: Float64Array,
  y: Float64Array,
  from: number,
  to: number,
): number {
  let sum = 0
  let k = 4 * from
  for (let n = from; n < to; n++) {
    const mean = u[n]! - y[n]!
    const a = setpoint[k]! - gyro[k]! - mean
    const b = setpoint[k + 1]! - gyro[k + 1]! - mean
    const c = setpoint[k + 2]! - gyro[k + 2]! - mean
    const d = setpoint[k + 3]! - gyro[k + 3]! - mean
    sum += a * a + b * b + (c * c + d * d)
    k += 4
  }
  return sum
}

function incoherentPower(
  u: Float64Array,
  y: Float64Array,
  rate_hz: number,
  runs: readonly Run[],
): number | null {
  const segment = nextPowerOfTwo(Math.round(1.5 * rate_hz))
  if (runs.every(({ start, end }) => end - start < 4 * segment)) return null
  const spectra = crossSpectra(u, y, { rate_hz, segment, runs, single: true })
  const g2 = coherence(spectra)
  let sum = 0
  for (let k = 0; k < g2.length; k++) sum += (1 - g2[k]!) * spectra.yy[k]!
  return (sum * rate_hz) / segment
}
