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
  let sum = 0
  let squares = 0
  let n = 0
  for (let k = 0; k < setpoint.length; k++) {
    const error = setpoint[k]! - gyro[k]!
    if (!Number.isFinite(error)) continue
    sum += error
    squares += error * error
    n++
  }
  return n === 0
    ? { rms_dps: NaN, bias_dps: NaN, n: 0 }
    : { rms_dps: Math.sqrt(squares / n), bias_dps: sum / n, n }
}

/** Root mean square of the finite samples, in their unit; NaN when there is none. The mean is not taken off. */
export function rms(samples: ArrayLike<number>): number {
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
