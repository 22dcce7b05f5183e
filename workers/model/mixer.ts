import { PITCH_SIDE, ROLL_SIDE, YAW_SIDE } from './craft.ts'

/**
 * Shares the axes' demands out to the four motors of an X frame. The differences between motors come first:
 * when throttle and demand do not fit between `idle` and `top`, the throttle gives way, and where the demand
 * alone is wider than the motors' range, all of it is scaled down together.
 * Writes the commands into `out` (four shares) and returns the scale, 1 when the whole demand was met.
 */
export function mix(
  throttle: number,
  demand: Float64Array,
  idle: number,
  top: number,
  out: Float64Array,
): number {
  const roll = demand[0]!
  const pitch = demand[1]!
  const yaw = demand[2]!
  let low = Infinity
  let high = -Infinity
  for (let motor = 0; motor < 4; motor++) {
    const difference = ROLL_SIDE[motor]! * roll + PITCH_SIDE[motor]! * pitch + YAW_SIDE[motor]! * yaw
    out[motor] = difference
    if (difference < low) low = difference
    if (difference > high) high = difference
  }
  const range = top - idle
  const scale = high - low > range ? range / (high - low) : 1
  let base = idle + throttle * range
  if (base + scale * high > top) base = top - scale * high
  if (base + scale * low < idle) base = idle - scale * low
  for (let motor = 0; motor < 4; motor++) {
    const command = base + scale * out[motor]!
    // Rounding may leave a command a last bit outside its limits.
    out[motor] = command < idle ? idle : command > top ? top : command
  }
  return scale
}
