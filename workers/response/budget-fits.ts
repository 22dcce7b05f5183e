import { crossProducts } from '../signal/cross-products.ts'
import { parabolaPeak } from '../signal/correlate.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import type { Run } from '../signal/segments.ts'
import { solveSymmetric } from './solve-symmetric.ts'

/** Taps of the shape on either side of the delay. */
export const TAPS_EACH_SIDE = 8

/** Means and squares over the core samples. */
export class CoreSums {
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

export interface DelayFit {
  /** Samples, may lie between them. */
  readonly delay: number
  /** Variance of y - u(t - delay). */
  readonly cost: number
  readonly variance: number
  readonly varianceU: number
  readonly covariance: number
}

/** The delay that leaves the least variance of the error; delay 0 when none does better. */
export function bestDelay(
  sums: CoreSums,
  u: Float64Array,
  y: Float64Array,
  most: number,
  atZero: number,
): DelayFit {
  const guess = withScratch((scratch) => guessedDelay(sums, u, y, most, scratch))
  const fit = leastCost(sums, u, y, guess, most)
  if (fit.cost < atZero) return fit
  const still = fitAt(sums, u, y, 0)
  return { ...still, cost: atZero }
}

/** The delay at which the products of both series about their means are largest. */
function guessedDelay(
  sums: CoreSums,
  u: Float64Array,
  y: Float64Array,
  most: number,
  { doubles }: Scratch,
): number {
  const coreY = doubles(y.length).fill(0)
  const wholeU = doubles(u.length).fill(0)
  for (let n = 0; n < u.length; n++) if (Number.isFinite(u[n]!)) wholeU[n] = u[n]! - sums.meanU
  for (const { start, end } of sums.core) for (let n = start; n < end; n++) coreY[n] = y[n]! - sums.meanY
  // Entry k: sum over the core of y[n] u[n - most + k].
  const products = crossProducts(coreY, wholeU, -most, most)
  let peak = 0
  for (let k = 1; k < products.length; k++) if (products[k]! > products[peak]!) peak = k
  return most - peak
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
export function shapeResidual(
  u: Float64Array,
  y: Float64Array,
  core: readonly Run[],
  delay: number,
  spacing: number,
  gain: number,
  sums: CoreSums,
): number {
  return withScratch((scratch) => residualOfShape(u, y, core, delay, spacing, gain, sums, scratch))
}

function residualOfShape(
  u: Float64Array,
  y: Float64Array,
  core: readonly Run[],
  delay: number,
  spacing: number,
  gain: number,
  sums: CoreSums,
  { doubles }: Scratch,
): number {
  const taps = 2 * TAPS_EACH_SIDE + 1
  const weights = cubicWeights(delay)
  const later = doubles(u.length).fill(0)
  const margin = TAPS_EACH_SIDE * spacing
  for (const { start, end } of core) {
    for (let n = start - margin; n < end + margin; n++) later[n] = interpolated(u, n, weights) - sums.meanU
  }
  // Normal equations by correlation: exact but for the ends of the runs, and the residual is evaluated itself.
  const own = crossProducts(later, later, 0, 2 * margin)
  const target = doubles(y.length).fill(0)
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
    takeOff(target, later, shape, spacing, start, end)
    for (let n = start; n < end; n++) {
      const residual = target[n]!
      sum += residual
      squares += residual * residual
    }
  }
  return Math.max(0, squares / sums.samples - (sum / sums.samples) ** 2)
}

/**
 * Takes what the taps make of a series off the values from start to end: values[n] -= sum of taps[i] of[n - (i -
 * TAPS_EACH_SIDE) spacing]. Four taps a pass: a plain loop over the samples is what engines run fastest.
 */
function takeOff(
  values: Float64Array,
  of: Float64Array,
  taps: Float64Array,
  spacing: number,
  start: number,
  end: number,
): void {
  const nearest = TAPS_EACH_SIDE * spacing
  let i = 0
  for (; i + 4 <= taps.length; i += 4) {
    const [t0, t1, t2, t3] = [taps[i]!, taps[i + 1]!, taps[i + 2]!, taps[i + 3]!]
    const at0 = nearest - i * spacing
    const at1 = at0 - spacing
    const at2 = at1 - spacing
    const at3 = at2 - spacing
    for (let n = start; n < end; n++)
      values[n]! -= t0 * of[n + at0]! + t1 * of[n + at1]! + t2 * of[n + at2]! + t3 * of[n + at3]!
  }
  for (; i < taps.length; i++) {
    const tap = taps[i]!
    const at = nearest - i * spacing
    for (let n = start; n < end; n++) values[n]! -= tap * of[n + at]!
  }
}
