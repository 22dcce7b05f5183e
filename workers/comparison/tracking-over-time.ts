import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { phaseSlopeLag } from '../response/lag-check.ts'
import { lagTrace, trackingTrace } from '../response/sliding.ts'
import { given, refused, type Refused, type Result } from '../signal/result.ts'
import { flightPart } from './flight-part.ts'

/** How an axis followed in windows that slide over a span. */
export interface TrackingOverTime {
  readonly kind: 'given'
  /** Middles of windows of ERROR_WINDOWS, on the flight's own clock. */
  readonly t_s: Float64Array
  /** Root mean square and mean of setpoint minus gyro; NaN over gaps and where half of the values are missing. */
  readonly rms_dps: Float64Array
  readonly bias_dps: Float64Array
  /** Middles of windows of LAG_WINDOWS; lag NaN where a window gives none (see `lag`). */
  readonly lagT_s: Float64Array
  readonly lag_ms: Float64Array
}

/** Delay of the gyro behind the setpoint over a span, told in two ways. */
export interface LagTwice {
  /** ms, by correlation. */
  readonly lag: Result<number>
  /** ms, by the slope of the phase over frequency; a caution where it is more than a delay. */
  readonly byPhase: Result<number>
}

export const TRACKING_METHOD = { id: 'tracking-over-time', version: 1 }
export const LAG_METHOD = { id: 'lag', version: 1 }
export const ERROR_WINDOWS = { window_s: 1, hop_s: 0.25 }
export const LAG_WINDOWS = { window_s: 4, hop_s: 2 }

/** Tracking error and lag of an axis in sliding windows over t0_s..t1_s of the flight's own clock. */
export function trackingOverTime(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
): TrackingOverTime | Refused {
  const series = seriesOf(signals, axis, t0_s, t1_s)
  if (typeof series === 'string') return refused(series, { method: TRACKING_METHOD })
  const { from, rate_hz, breaks } = series
  const errors = trackingTrace(series, ERROR_WINDOWS)
  if (errors.t_s.length === 0)
    return refused('The span is shorter than a second.', { method: TRACKING_METHOD })
  const lags = lagTrace(series, LAG_WINDOWS)
  // Windows are counted in samples: where frames were lost, their middle stands where its stamp says.
  const stamps = (middles_s: Float64Array) =>
    middles_s.map((t_s) => signals.t_s[Math.min(signals.t_s.length - 1, from + Math.round(t_s * rate_hz))]!)
  const whole = (values: Float64Array, middles_s: Float64Array, window_s: number) =>
    values.map((value, k) => {
      const at = middles_s[k]! * rate_hz
      const half = 0.5 * window_s * rate_hz
      return breaks.some((row) => row > at - half && row < at + half) ? NaN : value
    })
  return {
    kind: 'given',
    t_s: stamps(errors.t_s),
    rms_dps: whole(errors.rms_dps, errors.t_s, ERROR_WINDOWS.window_s),
    bias_dps: whole(errors.bias_dps, errors.t_s, ERROR_WINDOWS.window_s),
    lagT_s: stamps(lags.t_s),
    lag_ms: whole(lags.lag_s, lags.t_s, LAG_WINDOWS.window_s).map((lag_s) => 1000 * lag_s),
  }
}

/** The lag of an axis over t0_s..t1_s of the flight's own clock, by correlation and by phase. */
export function lagTwice(signals: FlightSignals, axis: Axis, t0_s: number, t1_s: number): LagTwice {
  const series = seriesOf(signals, axis, t0_s, t1_s)
  if (typeof series === 'string') {
    const none = refused(series, { method: LAG_METHOD })
    return { lag: none, byPhase: none }
  }
  const { from, to } = series
  const found = flightPart(signals, t0_s, t1_s).lag(axis)
  if (found.kind === 'refused') {
    const none = refused(found.reason, { method: LAG_METHOD, samples: to - from })
    return { lag: none, byPhase: none }
  }
  const cautions = found.flat
    ? ['The peak is broad: being 10 ms off costs less than 1 % of the correlation, so delay and shape mix.']
    : []
  const interval = {
    low: 1000 * found.low_s,
    high: 1000 * found.high_s,
    coverage: 0.95,
    covers: 'sampling error only',
  } as const
  return {
    lag: given(1000 * found.lag_s, 'ms', { method: LAG_METHOD, samples: found.n, cautions }, interval),
    byPhase: phaseSlopeLag(series, found),
  }
}

function seriesOf(signals: FlightSignals, axis: Axis, t0_s: number, t1_s: number) {
  const part = flightPart(signals, t0_s, t1_s)
  const setpoint = part.samples(`setpoint.${axis}`)
  const gyro = part.samples(`gyro.${axis}`)
  const { rate_hz } = signals
  if (!gyro) return 'The log holds no gyro for this axis.'
  if (!setpoint) return 'The log holds no setpoint for this axis.'
  if (part.to === part.from || !(rate_hz > 0)) return 'The flight has no samples in this span.'
  return { ...part.series(axis), breaks: part.breaks, from: part.from, to: part.to }
}
