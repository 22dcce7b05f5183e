import { leastSquares } from '../statistics/least-squares.ts'

/** A nonlinear least-squares fit. */
export interface NonlinearFit {
  readonly parameters: Float64Array
  /** From the Jacobian at the end; null where it says nothing about a parameter. */
  readonly standardErrors: Float64Array | null
  readonly residualSquares: number
  /** sqrt(residual squares / degrees of freedom). */
  readonly residualSd: number
  readonly iterations: number
  /** False: the steps ran out; take the numbers as rough. */
  readonly settled: boolean
}

export interface FitOptions {
  readonly mostIterations?: number
  /** The search ends when a step takes off less than this share of the residual, and moves no parameter by more than its root. */
  readonly tolerance?: number
}

/**
 * Levenberg's and Marquardt's damped Gauss-Newton search (More 1978 [from memory]) for the parameters whose residuals have
 * the least sum of squares. `residuals` fills `into`; values that are not finite count as worse than anything.
 * Slopes are central differences; each step solves the damped system by QR, scaled by the largest column lengths met.
 */
export function levenbergMarquardt(
  start: ArrayLike<number>,
  count: number,
  residuals: (parameters: Float64Array, into: Float64Array) => void,
  options: FitOptions = {},
): NonlinearFit {
  const { mostIterations = 200, tolerance = 1e-14 } = options
  const size = start.length
  if (count < size) throw new Error(`${count} residuals can't settle ${size} parameters`)
  let parameters = Float64Array.from(start)
  let values = new Float64Array(count)
  residuals(parameters, values)
  let cost = squares(values)
  const scale = new Float64Array(size)
  const columns = Array.from({ length: size }, () => new Float64Array(count))
  let damp = 1e-3
  let iterations = 0
  let settled = false
  while (iterations < mostIterations && !settled && Number.isFinite(cost) && cost > 0) {
    iterations++
    fillSlopes(parameters, residuals, columns)
    for (let k = 0; k < size; k++) scale[k] = Math.max(scale[k]!, Math.sqrt(squares(columns[k]!)))
    let improved = false
    for (let attempt = 0; attempt < 30 && !improved; attempt++) {
      const step = dampedStep(columns, values, scale, damp)
      if (!step) {
        damp = Math.max(1e-12, damp * 10)
        continue
      }
      const next = parameters.map((value, k) => value + step[k]!)
      const trial = new Float64Array(count)
      residuals(next, trial)
      const trialCost = squares(trial)
      if (trialCost < cost) {
        const small = step.every((move, k) => Math.abs(move) <= Math.sqrt(tolerance) * Math.abs(next[k]!))
        settled = cost - trialCost <= tolerance * cost && small
        parameters = next
        values = trial
        cost = trialCost
        damp = Math.max(1e-15, damp / 8)
        improved = true
      } else damp *= 6
    }
    // No step, however short, is better: this is the bottom to within rounding.
    if (!improved) settled = true
  }
  fillSlopes(parameters, residuals, columns)
  const dof = count - size
  const residualSd = dof > 0 ? Math.sqrt(cost / dof) : NaN
  const errors = cost > 0 ? leastSquares(columns, values) : null
  return {
    parameters,
    standardErrors: errors && errors.standardErrors.map((error) => (error / errors.residualSd) * residualSd),
    residualSquares: cost,
    residualSd,
    iterations,
    settled: settled || cost === 0,
  }
}

function squares(values: Float64Array): number {
  let sum = 0
  for (let n = 0; n < values.length; n++) sum += values[n]! * values[n]!
  return Number.isFinite(sum) ? sum : Infinity
}

function fillSlopes(
  parameters: Float64Array,
  residuals: (parameters: Float64Array, into: Float64Array) => void,
  columns: readonly Float64Array[],
): void {
  const count = columns[0]!.length
  const up = new Float64Array(count)
  const down = new Float64Array(count)
  const moved = Float64Array.from(parameters)
  for (let k = 0; k < parameters.length; k++) {
    const size = 1e-5 * (Math.abs(parameters[k]!) || 1e-3)
    moved[k] = parameters[k]! + size
    residuals(moved, up)
    moved[k] = parameters[k]! - size
    residuals(moved, down)
    moved[k] = parameters[k]!
    const column = columns[k]!
    for (let n = 0; n < count; n++) {
      const slope = (up[n]! - down[n]!) / (2 * size)
      column[n] = Number.isFinite(slope) ? slope : 0
    }
  }
}

function dampedStep(
  columns: readonly Float64Array[],
  values: Float64Array,
  scale: Float64Array,
  damp: number,
): Float64Array | null {
  const count = values.length
  const size = columns.length
  const tall = columns.map((column, k) => {
    const extended = new Float64Array(count + size)
    extended.set(column)
    extended[count + k] = Math.sqrt(damp) * (scale[k]! || 1)
    return extended
  })
  const right = new Float64Array(count + size)
  for (let n = 0; n < count; n++) right[n] = -values[n]!
  return leastSquares(tall, right)?.coefficients ?? null
}
