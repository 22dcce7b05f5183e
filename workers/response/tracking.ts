import { inStretches } from '../signal/stretches.ts'

/** How far the gyro was from the setpoint. */
export interface TrackingError {
  /** Root mean square of setpoint - gyro. NaN when n is 0. */
  readonly rms_dps: number
  /** Mean of setpoint - gyro: positive when the craft turned too slowly. NaN when n is 0. */
  readonly bias_dps: number
  /** Samples counted: those with both values finite. */
  readonly n: number
}

/**
 * RMS and mean of the error setpoint - gyro, deg/s, over two series of the same length. Pairs with a NaN or an
 * infinity on either side take no part. The whole error counts, lag included; see lag.ts for what lag alone costs.
 */
export function trackingError(setpoint: ArrayLike<number>, gyro: ArrayLike<number>): TrackingError {
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  const { sum, squares, n } = sumsOfErrors(setpoint, gyro, 0, setpoint.length)
  return n === 0
    ? { rms_dps: NaN, bias_dps: NaN, n: 0 }
    : { rms_dps: Math.sqrt(squares / n), bias_dps: sum / n, n }
}

/** Sums over the samples from..to (not included) of setpoint - gyro; `n` counts those where it is finite, the others take no part. */
export interface ErrorSums {
  readonly sum: number
  readonly squares: number
  readonly n: number
}

/** The sums of `trackingError` over a stretch. */
export function sumsOfErrors(
  setpoint: ArrayLike<number>,
  gyro: ArrayLike<number>,
  from: number,
  to: number,
): ErrorSums {
  let sum = 0
  let squares = 0
  // A question asked per sample costs more than the sums themselves; sums that are finite had no other samples.
  for (let k = from; k < to; k++) {
    const error = setpoint[k]! - gyro[k]!
    sum += error
    squares += error * error
  }
  if (Number.isFinite(sum) && Number.isFinite(squares)) return { sum, squares, n: Math.max(0, to - from) }
  return sumsOfFiniteErrors(setpoint, gyro, from, to)
}

function sumsOfFiniteErrors(
  setpoint: ArrayLike<number>,
  gyro: ArrayLike<number>,
  from: number,
  to: number,
): ErrorSums {
  let sum = 0
  let squares = 0
  let n = 0
  for (let k = from; k < to; k++) {
    const error = setpoint[k]! - gyro[k]!
    if (!Number.isFinite(error)) continue
    sum += error
    squares += error * error
    n++
  }
  return { sum, squares, n }
}

function squaresOf(samples: ArrayLike<number>, from: number, to: number): number {
  let sum = 0
  for (let k = from; k < to; k++) sum += samples[k]! * samples[k]!
  return sum
}

/** Root mean square of the finite samples, in their unit; NaN when there is none. The mean is not taken off. */
export function rms(samples: ArrayLike<number>): number {
  let all = 0
  inStretches(samples.length, (from, to) => (all += squaresOf(samples, from, to)))
  if (Number.isFinite(all)) return samples.length === 0 ? NaN : Math.sqrt(all / samples.length)
  let squares = 0
  let n = 0
  for (let k = 0; k < samples.length; k++) {
    const value = samples[k]!
    if (!Number.isFinite(value)) continue
    squares += value * value
    n++
  }
  return n === 0 ? NaN : Math.sqrt(squares / n)
}
