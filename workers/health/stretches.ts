/** Stretches of a column that hold no true measurement. Rows [from, to). */
export interface Stretch {
  readonly from: number
  readonly to: number
}

/** A value must repeat this often at the very top or bottom to count as a limit. */
const CLIP_REPEATS = 4
/** Gyros' full scales are 125 deg/s and up: common practice, no source. A lower maximum is no limit. */
const LEAST_FULL_SCALE_DPS = 100

/**
 * Share of rows at a sensor's limit: the largest or the smallest value of all, standing several times in a row, at a
 * size that a resting sensor does not have. 0 when nothing looks clipped.
 * @param rate_dps NaN is skipped
 */
export function clippedShare(rate_dps: Float32Array): number {
  let top = -Infinity
  let bottom = Infinity
  for (let row = 0; row < rate_dps.length; row += 1) {
    const value = rate_dps[row] as number
    if (value > top) top = value
    if (value < bottom) bottom = value
  }
  const size = Math.max(top, -bottom)
  if (!(size >= LEAST_FULL_SCALE_DPS) || top === bottom) return 0
  let clipped = 0
  for (const limit of [top, bottom]) {
    if (Math.abs(limit) < 0.9 * size) continue
    let run = 0
    let longest = 0
    let count = 0
    for (let row = 0; row < rate_dps.length; row += 1) {
      run = rate_dps[row] === limit ? run + 1 : 0
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
  for (let row = 0; row < motor.length; row += 1) if ((motor[row] as number) >= 1 - 1 / 2000) high += 1
  return motor.length > 0 ? high / motor.length : 0
}

/**
 * Marks the rows at which a gyro keeps the value of the row before: 1, else 0. Values near rest don't count, for a
 * coarse sensor on the ground repeats them truly.
 * @param among marks of another axis: they are narrowed in place to the rows that both have, and returned
 */
export function markRepeats(
  rate_dps: Float32Array,
  rest_dps = 1,
  among: Uint8Array = allMarked(rate_dps.length),
): Uint8Array {
  among[0] = 0
  for (let row = 1; row < rate_dps.length; row += 1) {
    const value = rate_dps[row] as number
    if (value !== rate_dps[row - 1] || !(Math.abs(value) > rest_dps)) among[row] = 0
  }
  return among
}

/**
 * Marks the rows that continue the line of the two rows before them, sloping, within the rounding of the file: what a
 * program writes that fills dropouts by interpolation. A measured gyro never does that for more than a few rows.
 * @param among marks of another axis: they are narrowed in place to the rows that both have, and returned
 */
export function markStraight(
  values: Float32Array,
  time_s: Float64Array,
  among: Uint8Array = allMarked(values.length),
): Uint8Array {
  let size = 0
  for (let row = 0; row < values.length; row += 1) {
    const value = Math.abs(values[row] as number)
    if (value > size) size = value
  }
  // Seven digits of a 32-bit number and some for the file's own rounding...
  const tolerance = 2e-6 * size
  among.fill(0, 0, 2)
  for (let row = 2; row < values.length; row += 1) {
    if (among[row] === 0) continue
    const step_s = (time_s[row - 1] as number) - (time_s[row - 2] as number)
    const before = values[row - 1] as number
    const slope = (before - (values[row - 2] as number)) / step_s
    const expected = before + slope * ((time_s[row] as number) - (time_s[row - 1] as number))
    const value = values[row] as number
    // ...and stamps rounded to a microsecond put a line of 10 ms steps off by 1e-4 of each step.
    const off = tolerance + 3e-4 * Math.abs(value - before)
    if (!(step_s > 0) || !(Math.abs(value - expected) <= off) || value === before) among[row] = 0
  }
  return among
}

const allMarked = (rows: number): Uint8Array => new Uint8Array(rows).fill(1)

/**
 * Stretches in which every one of the given marks stands, row after row.
 * @param lead rows before the first mark that belong to the stretch (1 for repeats, 2 for lines)
 * @param minRows shortest stretch to report, lead included
 */
export function commonStretches(marks: readonly Uint8Array[], lead: number, minRows: number): Stretch[] {
  const stretches: Stretch[] = []
  const all = inAll(marks)
  let from = all.indexOf(1)
  while (from >= 0) {
    const end = all.indexOf(0, from)
    const to = end < 0 ? all.length : end
    if (to - from + lead >= minRows) stretches.push({ from: from - lead, to })
    from = end < 0 ? -1 : all.indexOf(1, to)
  }
  return stretches
}

/** The rows that bear all marks: 1, else 0. */
function inAll(marks: readonly Uint8Array[]): Uint8Array {
  const [first = new Uint8Array(0), ...others] = marks
  if (others.length === 0) return first
  return first.map((mark, row) => (mark === 1 && others.every((one) => one[row] === 1) ? 1 : 0))
}
