import { crossProducts, parabolaPeak } from '../signal/correlate.ts'
import { decimated } from '../signal/decimate.ts'
import { crossSpectra, coherence } from '../signal/cross-spectra.ts'
import { nextPowerOfTwo } from '../signal/fft.ts'
import { refused, type Basis, type Refused } from '../signal/result.ts'
import { runsOf, type Run } from '../signal/segments.ts'
import { solveSymmetric } from './output-error.ts'
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

/** Delay, gain and shape are fitted to means at no less than this rate. */
const RATE_HZ = 500
/** Ends are always left out; less than this share is not worth saying. */
const LEFT_OUT = 0.02
/** Taps of the shape on either side of the delay, and their distance. */
const TAPS_EACH_SIDE = 8
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
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  if (!(series.rate_hz > 0)) throw new Error(`sample rate must be positive: ${series.rate_hz}`)
  const factor = Math.max(1, Math.floor(series.rate_hz / RATE_HZ))
  const rate_hz = series.rate_hz / factor
  const { samples: u, breaks } = decimated(setpoint, factor, series.breaks)
  const { samples: y } = decimated(gyro, factor, series.breaks)
  const spacing = Math.max(1, Math.round(TAP_STEP_S * rate_hz))
  const mostDelay = Math.max(1, Math.round((options.maxDelay_s ?? 0.15) * rate_hz))
  const reach = mostDelay + TAPS_EACH_SIDE * spacing + 3
  const core = runsOf([u, y], breaks)
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
    incoherent: incoherentPower(u, y, rate_hz, breaks),
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
    for (let n = start; n < end; n++) {
      const mean = u[n]! - y[n]!
      for (let k = n * factor; k < (n + 1) * factor; k++)
        sum += (setpoint[k]! - gyro[k]! - mean) ** 2 / factor
    }
  }
  return sum
}

/** Means and squares over the core samples. */
class CoreSums {
  readonly meanU: number
  readonly meanY: number
  readonly varianceU: number
  readonly varianceY: number
  readonly meanSquareError: number
  readonly core: readonly Run[]
  readonly samples: number

  constructor(u: Float64Array, y: Float64Array, core: readonly Run[], samples: number) {
    let sumU = 0
    let sumY = 0
    let errors = 0
    for (const { start, end } of core) {
      for (let n = start; n < end; n++) {
        sumU += u[n]!
        sumY += y[n]!
        errors += (u[n]! - y[n]!) ** 2
      }
    }
    this.meanU = sumU / samples
    this.meanY = sumY / samples
    let squaresU = 0
    let squaresY = 0
    for (const { start, end } of core) {
      for (let n = start; n < end; n++) {
        squaresU += (u[n]! - this.meanU) ** 2
        squaresY += (y[n]! - this.meanY) ** 2
      }
    }
    this.varianceU = squaresU / samples
    this.varianceY = squaresY / samples
    this.meanSquareError = errors / samples
    this.core = core
    this.samples = samples
  }
}

interface DelayFit {
  /** Samples, may lie between them. */
  readonly delay: number
  /** Variance of y - u(t - delay). */
  readonly cost: number
  readonly variance: number
  readonly varianceU: number
  readonly covariance: number
}

/** The delay that leaves the least variance of the error; delay 0 when none does better. */
function bestDelay(sums: CoreSums, u: Float64Array, y: Float64Array, most: number, atZero: number): DelayFit {
  const coreY = new Float64Array(y.length)
  const wholeU = new Float64Array(u.length)
  for (let n = 0; n < u.length; n++) if (Number.isFinite(u[n]!)) wholeU[n] = u[n]! - sums.meanU
  for (const { start, end } of sums.core) for (let n = start; n < end; n++) coreY[n] = y[n]! - sums.meanY
  // Entry k: sum over the core of y[n] u[n - most + k].
  const products = crossProducts(coreY, wholeU, -most, most)
  let peak = 0
  for (let k = 1; k < products.length; k++) if (products[k]! > products[peak]!) peak = k
  const fit = leastCost(sums, u, y, most - peak, most)
  if (fit.cost < atZero) return fit
  const still = fitAt(sums, u, y, 0)
  return { ...still, cost: atZero }
}

/**
 * The delay of least cost near a first guess. The products' peak alone is off where the setpoint's energy within the
 * core changes as it is shifted; the cost itself is not.
 */
function leastCost(sums: CoreSums, u: Float64Array, y: Float64Array, guess: number, most: number): DelayFit {
  const known = new Map<number, DelayFit>()
  const at = (delay: number): DelayFit => {
    const fit = known.get(delay) ?? fitAt(sums, u, y, delay)
    known.set(delay, fit)
    return fit
  }
  let best = guess
  for (;;) {
    const next = [best - 1, best + 1].find(
      (delay) => Math.abs(delay) <= most && at(delay).cost < at(best).cost,
    )
    if (next === undefined) break
    best = next
  }
  if (Math.abs(best) === most) return at(best)
  const shift = parabolaPeak(-at(best - 1).cost, -at(best).cost, -at(best + 1).cost)
  const between = fitAt(sums, u, y, best + shift)
  return between.cost < at(best).cost ? between : at(best)
}

/** One pass: sums about the means of the undelayed series, which the delayed one's are close to. */
function fitAt(sums: CoreSums, u: Float64Array, y: Float64Array, delay: number): DelayFit {
  const { whole, w } = cubicWeights(delay)
  const [w0, w1, w2, w3] = w
  const { meanU, meanY, samples } = sums
  let sum = 0
  let squares = 0
  let product = 0
  for (const { start, end } of sums.core) {
    for (let n = start; n < end; n++) {
      const at = n - whole
      const x = w0 * u[at + 1]! + w1 * u[at]! + w2 * u[at - 1]! + w3 * u[at - 2]! - meanU
      sum += x
      squares += x * x
      product += x * (y[n]! - meanY)
    }
  }
  const varianceU = squares / samples - (sum / samples) ** 2
  // The gyro's own sum about its mean is nothing: no correction.
  const covariance = product / samples
  return {
    delay,
    cost: Math.max(0, sums.varianceY - 2 * covariance + varianceU),
    variance: sums.varianceY,
    varianceU,
    covariance,
  }
}

interface Weights {
  readonly whole: number
  readonly w: readonly [number, number, number, number]
}

/** Lagrange's cubic between samples: u(n - delay) from u[n-whole+1], [..], [n-whole-2]. */
function cubicWeights(delay: number): Weights {
  const whole = Math.floor(delay)
  const d = delay - whole
  return {
    whole,
    w: [
      (-d * (d - 1) * (d - 2)) / 6,
      ((d + 1) * (d - 1) * (d - 2)) / 2,
      (-(d + 1) * d * (d - 2)) / 2,
      ((d + 1) * d * (d - 1)) / 6,
    ],
  }
}

function interpolated(u: Float64Array, n: number, { whole, w }: Weights): number {
  const at = n - whole
  return w[0] * u[at + 1]! + w[1] * u[at]! + w[2] * u[at - 1]! + w[3] * u[at - 2]!
}

/** Mean square left by the best taps around the delay, evaluated on the core samples. */
function shapeResidual(
  u: Float64Array,
  y: Float64Array,
  core: readonly Run[],
  delay: number,
  spacing: number,
  gain: number,
  sums: CoreSums,
): number {
  const taps = 2 * TAPS_EACH_SIDE + 1
  const weights = cubicWeights(delay)
  const later = new Float64Array(u.length)
  const margin = TAPS_EACH_SIDE * spacing
  for (const { start, end } of core) {
    for (let n = start - margin; n < end + margin; n++) later[n] = interpolated(u, n, weights) - sums.meanU
  }
  // Normal equations by correlation: exact but for the ends of the runs, and the residual is evaluated itself.
  const own = crossProducts(later, later, 0, 2 * margin)
  const target = new Float64Array(y.length)
  for (const { start, end } of core) {
    for (let n = start; n < end; n++) target[n] = y[n]! - sums.meanY - gain * later[n]!
  }
  const withY = crossProducts(target, later, -margin, margin)
  const lower = new Float64Array(taps * taps)
  const right = new Float64Array(taps)
  for (let i = 0; i < taps; i++) {
    // Tap i looks (i - TAPS_EACH_SIDE) steps back.
    right[i] = withY[margin - (i - TAPS_EACH_SIDE) * spacing]!
    for (let j = 0; j <= i; j++) lower[i * taps + j] = own[(i - j) * spacing]!
  }
  const shape = solveSymmetric(lower, right, 1e-6)
  let sum = 0
  let squares = 0
  for (const { start, end } of core) {
    // Tap after tap: a plain loop over the samples is what engines run fastest.
    for (let i = 0; i < taps; i++)
      takeOff(target, later, shape[i]!, (i - TAPS_EACH_SIDE) * spacing, start, end)
    for (let n = start; n < end; n++) {
      const residual = target[n]!
      sum += residual
      squares += residual * residual
    }
  }
  return Math.max(0, squares / sums.samples - (sum / sums.samples) ** 2)
}

/** values[n] -= factor * of[n - delay] for n from start to end. */
function takeOff(
  values: Float64Array,
  of: Float64Array,
  factor: number,
  delay: number,
  start: number,
  end: number,
): void {
  for (let n = start; n < end; n++) values[n]! -= factor * of[n - delay]!
}

function incoherentPower(
  u: Float64Array,
  y: Float64Array,
  rate_hz: number,
  breaks: readonly number[],
): number | null {
  const segment = nextPowerOfTwo(Math.round(1.5 * rate_hz))
  const runs = runsOf([u, y], breaks)
  if (runs.every(({ start, end }) => end - start < 4 * segment)) return null
  const spectra = crossSpectra(u, y, { rate_hz, segment, breaks, single: true })
  const g2 = coherence(spectra)
  let sum = 0
  for (let k = 0; k < g2.length; k++) sum += (1 - g2[k]!) * spectra.yy[k]!
  return (sum * rate_hz) / segment
}
