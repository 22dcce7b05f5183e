import type { PerAxis } from '../flight/axes.ts'
import { AXES, perAxis } from '../flight/axes.ts'
import { composed, inverse, turned, turnVector_deg, type BodyRates } from './attitude.ts'

/** A throttle that was opened or closed quickly out of a quiet stretch. */
export interface ThrottleStep {
  readonly kind: 'punch' | 'chop'
  /** Sample at which the throttle starts to move. */
  readonly start: number
  readonly from: number
  readonly to: number
}

export interface ThrottleStepLimits {
  /** Least change, share of full throttle. */
  readonly least: number
  /** In at most this time. */
  readonly within_s: number
  /** Throttle steady and sticks still before it for this long. */
  readonly quiet_s: number
}

/** Our own definition, no standard known: a third of the throttle within 0.2 s out of 0.3 s of quiet. */
export const THROTTLE_STEP: ThrottleStepLimits = { least: 0.33, within_s: 0.2, quiet_s: 0.3 }

/** Finds punches and chops in a throttle of 0..1. Throttle "steady": it moves by no more than a tenth of `least`. */
export function findThrottleSteps(
  throttle: ArrayLike<number>,
  rate_hz: number,
  limits: ThrottleStepLimits = THROTTLE_STEP,
): ThrottleStep[] {
  const reach = Math.max(1, Math.round(limits.within_s * rate_hz))
  const quiet = Math.max(1, Math.round(limits.quiet_s * rate_hz))
  const slack = 0.1 * limits.least
  const steps: ThrottleStep[] = []
  for (let n = quiet; n + reach < throttle.length; n++) {
    // From look to look in a function of its own: all but a few samples are passed over.
    n = nextChange(throttle, reach, limits.least, n, Math.min(n + AT_ONCE, throttle.length - reach))
    if (n + reach >= throttle.length) break
    const before = throttle[n]!
    const change = throttle[n + reach]! - before
    if (!(Math.abs(change) >= limits.least)) continue
    // The movement starts at the last sample that still stands where the quiet stretch stood.
    let start = n
    while (start + 1 < n + reach && Math.abs(throttle[start + 1]! - before) <= slack) start++
    if (!isSteady(throttle, start - quiet, start, slack)) continue
    const end = start + reach
    const to = throttle[Math.min(end, throttle.length - 1)]!
    steps.push({ kind: to > before ? 'punch' : 'chop', start, from: before, to })
    n = end + quiet
  }
  return steps
}

/** Samples that are looked through in one call. */
const AT_ONCE = 8192

/** First sample of from..to (not included) from which the throttle changes by `least` within `reach`; `to` when there is none. */
function nextChange(
  throttle: ArrayLike<number>,
  reach: number,
  least: number,
  from: number,
  to: number,
): number {
  let n = from
  while (n < to && !(Math.abs(throttle[n + reach]! - throttle[n]!) >= least)) n++
  return n
}

function isSteady(values: ArrayLike<number>, from: number, to: number, slack: number): boolean {
  if (from < 0) return false
  let low = Infinity
  let high = -Infinity
  for (let n = from; n < to; n++) {
    const value = values[n]!
    if (!Number.isFinite(value)) return false
    if (value < low) low = value
    if (value > high) high = value
  }
  return high - low <= 2 * slack
}

/** How far the craft turned away from where it was told to, over a throttle step. */
export interface ThrottleDrift {
  readonly step: ThrottleStep
  /** Degrees about each axis, gyro's turn against the setpoint's, steady error of the quiet before taken off. */
  readonly drift_deg: PerAxis<number>
  /** Standard error from the quiet stretch's own wandering. */
  readonly error_deg: PerAxis<number>
}

/** Time over which the drift adds up (our own definition). */
export const DRIFT_S = 0.3

/**
 * Drift of a throttle step: the integral of gyro - setpoint over 0.3 s, its mean in the quiet before taken off. Attitudes
 * are integrated as quaternions and compared as one turn, so a flip meanwhile does not spoil it. Null when samples
 * are missing (NaN) or the log ends within.
 */
export function throttleDrift(
  step: ThrottleStep,
  gyro: BodyRates,
  setpoint: BodyRates,
  rate_hz: number,
  quiet_s = THROTTLE_STEP.quiet_s,
): ThrottleDrift | null {
  const size = Math.round(DRIFT_S * rate_hz)
  const quiet = Math.round(quiet_s * rate_hz)
  const end = step.start + size
  if (step.start < quiet || end > gyro.roll.length) return null
  const before = perAxis((axis) => meanAndError(gyro[axis], setpoint[axis], step.start - quiet, step.start))
  const bias = perAxis((axis) => before[axis].mean)
  const actual = turned(gyro, step.start, end, rate_hz, bias)
  const wanted = turned(setpoint, step.start, end, rate_hz)
  const drift_deg = turnVector_deg(composed(inverse(wanted), actual))
  if (AXES.some((axis) => !Number.isFinite(drift_deg[axis]))) return null
  return { step, drift_deg, error_deg: perAxis((axis) => before[axis].error * DRIFT_S) }
}

/** Mean of gyro - setpoint, and its standard error from the means of six parts. */
function meanAndError(gyro: ArrayLike<number>, setpoint: ArrayLike<number>, from: number, to: number) {
  const parts = 6
  const means: number[] = []
  for (let part = 0; part < parts; part++) {
    const start = from + Math.round((part * (to - from)) / parts)
    const end = from + Math.round(((part + 1) * (to - from)) / parts)
    let sum = 0
    for (let n = start; n < end; n++) sum += gyro[n]! - setpoint[n]!
    means.push(sum / (end - start))
  }
  const mean = means.reduce((sum, value) => sum + value, 0) / parts
  const variance = means.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (parts - 1)
  return { mean, error: Math.sqrt(variance / parts) }
}
