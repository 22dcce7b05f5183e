/** Stretches of a column that hold no true measurement. Rows [from, to). */
export interface Stretch {
  readonly from: number
  readonly to: number
}

/** A value must repeat this often at the very top or bottom to count as a limit. */
const CLIP_REPEATS = 4

/**
 * Share of rows at a sensor's limit: the largest or the smallest value of all, standing several times in a row, at a
 * size that a resting sensor does not have. 0 when nothing looks clipped.
 * @param rate_dps NaN is skipped
 */
export function clippedShare(rate_dps: Float32Array): number {
  let top = -Infinity
  let bottom = Infinity
  for (const value of rate_dps) {
    if (value > top) top = value
    if (value < bottom) bottom = value
  }
  const size = Math.max(top, -bottom)
  // Gyros' full scales are 125 deg/s and up: common practice, no source.
  if (!(size >= 100)) return 0
  let clipped = 0
  for (const limit of [top, bottom]) {
    if (Math.abs(limit) < 0.9 * size) continue
    let run = 0
    let longest = 0
    let count = 0
    for (const value of rate_dps) {
      run = value === limit ? run + 1 : 0
      if (run > 0) count += 1
      if (run > longest) longest = run
    }
    if (longest >= CLIP_REPEATS) clipped += count
  }
  return clipped / rate_dps.length
}

/** Share of rows at the upper end of a motor's command, 0..1; a step of 1/2000 below it counts as the end. */
export function saturatedShare(motor: Float32Array): number {
  let high = 0
  for (const value of motor) if (value >= 1 - 1 / 2000) high += 1
  return motor.length > 0 ? high / motor.length : 0
}

/**
 * Stretches of at least half a second's worth of rows in which a gyro keeps one value although it moves elsewhere.
 * @param minRows shortest stretch to report
 */
export function frozenStretches(values: Float32Array, minRows = 50): Stretch[] {
  const stretches: Stretch[] = []
  let from = 0
  for (let row = 1; row <= values.length; row += 1) {
    if (row < values.length && values[row] === values[from]) continue
    if (row - from >= minRows) stretches.push({ from, to: row })
    from = row
  }
  return stretches
}

/**
 * Stretches in which values lie on one straight line over time, sloping, within the rounding of the file: what a
 * program writes that fills dropouts by interpolation. A measured gyro never does that for more than a few rows.
 * @param minRows shortest stretch to report
 */
export function straightStretches(values: Float32Array, time_s: Float64Array, minRows = 6): Stretch[] {
  const stretches: Stretch[] = []
  let size = 0
  for (const value of values) if (Math.abs(value) > size) size = Math.abs(value)
  // Seven digits of a 32-bit number, and some for the file's own rounding.
  const tolerance = 4e-6 * size
  let from = 0
  for (let row = 2; row <= values.length; row += 1) {
    if (row < values.length && fits(values, time_s, row, tolerance)) continue
    const slopes = Math.abs((values[row - 1] as number) - (values[from] as number)) > 20 * tolerance
    if (row - from >= minRows && slopes) stretches.push({ from, to: row })
    from = row - 1
  }
  return stretches
}

/** Whether the row continues the line of the two rows before it. */
function fits(values: Float32Array, time_s: Float64Array, row: number, tolerance: number): boolean {
  const step = (time_s[row - 1] as number) - (time_s[row - 2] as number)
  if (!(step > 0)) return false
  const slope = ((values[row - 1] as number) - (values[row - 2] as number)) / step
  const expected =
    (values[row - 1] as number) + slope * ((time_s[row] as number) - (time_s[row - 1] as number))
  return Math.abs((values[row] as number) - expected) <= tolerance
}
