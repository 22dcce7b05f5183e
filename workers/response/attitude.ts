/** Attitude from rates, as quaternions: angles of large turns about several axes can't be summed. */
export type Quaternion = readonly [w: number, x: number, y: number, z: number]

/** Three series of body rates, deg/s: roll about x, pitch about y, yaw about z. */
export interface BodyRates {
  readonly roll: ArrayLike<number>
  readonly pitch: ArrayLike<number>
  readonly yaw: ArrayLike<number>
}

/** a then b: the turn b made in the frame that a led to. */
export function composed(a: Quaternion, b: Quaternion): Quaternion {
  return [
    a[0] * b[0] - a[1] * b[1] - a[2] * b[2] - a[3] * b[3],
    a[0] * b[1] + a[1] * b[0] + a[2] * b[3] - a[3] * b[2],
    a[0] * b[2] - a[1] * b[3] + a[2] * b[0] + a[3] * b[1],
    a[0] * b[3] + a[1] * b[2] - a[2] * b[1] + a[3] * b[0],
  ]
}

/** The turn back. */
export const inverse = ([w, x, y, z]: Quaternion): Quaternion => [w, -x, -y, -z]

/** The turn about one axis that does the same: its components in degrees, at most 180 in length. */
export function turnVector_deg([w, x, y, z]: Quaternion): { roll: number; pitch: number; yaw: number } {
  const sign = w < 0 ? -1 : 1
  const length = Math.hypot(x, y, z)
  const angle = 2 * Math.atan2(length, sign * w)
  const factor = length > 1e-12 ? (sign * angle * 180) / (Math.PI * length) : (sign * 360) / Math.PI
  return { roll: factor * x, pitch: factor * y, yaw: factor * z }
}

/**
 * The turn that the rates make over samples from..to (not included), each held for 1/rate_hz. `bias` is taken off the rates.
 * A NaN makes the result NaN.
 */
export function turned(
  rates: BodyRates,
  from: number,
  to: number,
  rate_hz: number,
  bias: { readonly roll: number; readonly pitch: number; readonly yaw: number } = {
    roll: 0,
    pitch: 0,
    yaw: 0,
  },
): Quaternion {
  let attitude: Quaternion = [1, 0, 0, 0]
  const half = Math.PI / 360 / rate_hz
  for (let n = from; n < to; n++) {
    const x = (rates.roll[n]! - bias.roll) * half
    const y = (rates.pitch[n]! - bias.pitch) * half
    const z = (rates.yaw[n]! - bias.yaw) * half
    const angle = Math.hypot(x, y, z)
    const scale = angle > 1e-9 ? Math.sin(angle) / angle : 1
    attitude = composed(attitude, [Math.cos(angle), x * scale, y * scale, z * scale])
  }
  const length = Math.hypot(...attitude)
  return [attitude[0] / length, attitude[1] / length, attitude[2] / length, attitude[3] / length]
}
