/** One stroke of a stick: out to one side and back. Indices into the commands. */
export interface Stroke {
  readonly direction: 1 | -1
  readonly start: number
  /** Where the setpoint is back near zero, may lie between samples. */
  readonly stop: number
  readonly end: number
  readonly peak: number
  readonly peak_dps: number
  /** Turned by the setpoint on the way, deg, positive. */
  readonly angle_deg: number
  /** Largest |du/dt| from the peak to the stop, deg/s^2. */
  readonly snap_dps2: number
}

/** Below this the stick counts as resting, deg/s. All limits here: common practice, no source. */
export const REST_DPS = 20
/** Smaller strokes are corrections, not manoeuvres. */
const LEAST_PEAK_DPS = 60
/** The stop is where the setpoint has come down to this share of the stroke's peak, or to so many deg/s. */
const STOP_SHARE = 0.06
const STOP_DPS = 12
/** A stroke that is not back near zero this long after it left the band is not stopped, s. */
const STOP_REACH_S = 0.12

/** Finds the strokes of one axis's setpoint (deg/s), in order. A gap (NaN) ends a stroke, which is then left out. */
export function findStrokes(setpoint: ArrayLike<number>, rate_hz: number): Stroke[] {
  const strokes: Stroke[] = []
  const count = setpoint.length
  for (let n = 0; n < count;) {
    const sign = Math.abs(setpoint[n]!) > REST_DPS ? Math.sign(setpoint[n]!) : 0
    if (sign === 0 || Number.isNaN(sign)) {
      n++
      continue
    }
    let end = n
    let peak = n
    let sum = 0
    while (end < count && sign * setpoint[end]! > REST_DPS) {
      if (Math.abs(setpoint[end]!) > Math.abs(setpoint[peak]!)) peak = end
      sum += Math.abs(setpoint[end]!)
      end++
    }
    const peak_dps = Math.abs(setpoint[peak]!)
    const whole = end < count && n > 0 && !Number.isNaN(setpoint[end]!) && !Number.isNaN(setpoint[n - 1]!)
    if (whole && peak_dps >= LEAST_PEAK_DPS) {
      const stop = stopOf(setpoint, peak, peak_dps, sign, end + Math.round(STOP_REACH_S * rate_hz))
      if (stop !== null)
        strokes.push({
          direction: sign as 1 | -1,
          start: n,
          stop,
          end: Math.max(end, Math.ceil(stop)),
          peak,
          peak_dps,
          angle_deg: sum / rate_hz,
          snap_dps2: steepest(setpoint, peak, Math.ceil(stop), rate_hz),
        })
    }
    n = Math.max(end, n + 1)
  }
  return strokes
}

/** The last passing of the stop level on the way down that is not followed by more of the same stroke. */
function stopOf(
  setpoint: ArrayLike<number>,
  peak: number,
  peak_dps: number,
  sign: number,
  limit: number,
): number | null {
  const level = Math.max(STOP_DPS, STOP_SHARE * peak_dps)
  for (let n = peak + 1; n < Math.min(limit, setpoint.length); n++) {
    const here = sign * setpoint[n]!
    if (Number.isNaN(here)) return null
    if (here > level) continue
    const before = sign * setpoint[n - 1]!
    return n - 1 + (before - level) / (before - here)
  }
  return null
}

/** Slope over 15 ms: the link's own steps are shorter. */
function steepest(setpoint: ArrayLike<number>, from: number, to: number, rate_hz: number): number {
  const reach = Math.max(1, Math.round(0.015 * rate_hz))
  let most = 0
  for (let n = from; n + reach <= to + 1 && n + reach < setpoint.length; n++) {
    const slope = (Math.abs(setpoint[n + reach]! - setpoint[n]!) * rate_hz) / reach
    if (slope > most) most = slope
  }
  return most
}
