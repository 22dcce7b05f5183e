import { AXES, perAxis, type Axis, type PerAxis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { rms, trackingError } from '../response/tracking.ts'
import { flightPart, type FlightPart } from './flight-part.ts'

/** A number with its reason: `value` is null when it can't be given, and `reason` then says why in words. */
export interface Measured {
  readonly value: number | null
  readonly reason: string | null
}

/** How one axis of one flight was flown and followed in a span. */
export interface AxisMeasures {
  /** Root mean square of the gyro, deg/s: how hard the span was flown. */
  readonly gyroRms_dps: Measured
  /** Root mean square of setpoint minus gyro, deg/s. */
  readonly trackingRms_dps: Measured
  /** Delay of the gyro behind the setpoint, ms; see workers/response/lag.ts. */
  readonly lag_ms: Measured
  /** Correlation of setpoint and gyro at that delay. */
  readonly lagCorrelation: Measured
  /** 95 % interval of the lag, ms, sampling error only; null with the lag. */
  readonly lagInterval_ms: readonly [number, number] | null
  /** True when the peak is so broad that delay and shape can't be told apart. */
  readonly lagIsBroad: boolean
  /** Samples in the span. */
  readonly samples: number
}

const given = (value: number): Measured => ({ value, reason: null })
const refused = (reason: string): Measured => ({ value: null, reason })

/**
 * Measures of all axes over t0_s..t1_s on the flight's own clock (both ends included). Samples are taken as
 * recorded; NaN takes no part. What can't be given says why.
 */
export function measureFlight(signals: FlightSignals, t0_s: number, t1_s: number): PerAxis<AxisMeasures> {
  const part = flightPart(signals, t0_s, t1_s)
  return perAxis((axis) => measureAxis(part, axis))
}

function measureAxis(part: FlightPart, axis: Axis): AxisMeasures {
  const samples = part.to - part.from
  const nothing = (reason: string): AxisMeasures => ({
    gyroRms_dps: refused(reason),
    trackingRms_dps: refused(reason),
    lag_ms: refused(reason),
    lagCorrelation: refused(reason),
    lagInterval_ms: null,
    lagIsBroad: false,
    samples,
  })
  if (samples <= 0) return nothing('The flight has no samples in this span.')
  const gyro = part.samples(`gyro.${axis}`)
  if (!gyro) return nothing('The log holds no gyro for this axis.')
  const gyroRms = rms(gyro)
  const gyroRms_dps = Number.isNaN(gyroRms) ? refused('The gyro has no values in this span.') : given(gyroRms)
  const setpoint = part.samples(`setpoint.${axis}`)
  if (!setpoint) return { ...nothing('The log holds no setpoint for this axis.'), gyroRms_dps }
  const error = trackingError(setpoint, gyro)
  const delay = part.lag(axis)
  return {
    gyroRms_dps,
    trackingRms_dps:
      error.n === 0
        ? refused('Setpoint and gyro have no values together in this span.')
        : given(error.rms_dps),
    lag_ms: delay.kind === 'lag' ? given(delay.lag_s * 1000) : refused(delay.reason),
    lagCorrelation: delay.kind === 'lag' ? given(delay.r) : refused(delay.reason),
    lagInterval_ms: delay.kind === 'lag' ? [delay.low_s * 1000, delay.high_s * 1000] : null,
    lagIsBroad: delay.kind === 'lag' && delay.flat,
    samples,
  }
}

/** The measures that are shown, in order, with what they are called and measured in. */
export const MEASURES = [
  {
    key: 'trackingRms_dps',
    label: 'Tracking error, RMS',
    unit: 'deg/s',
    digits: 1,
    better: 'lower',
    explained: 'Root mean square of setpoint minus gyro: the delay counts as error too.',
  },
  {
    key: 'lag_ms',
    label: 'Lag',
    unit: 'ms',
    digits: 1,
    better: 'lower',
    explained: 'How long the gyro comes after the setpoint: the shift at which the two look most alike.',
  },
  {
    key: 'gyroRms_dps',
    label: 'Gyro, RMS',
    unit: 'deg/s',
    digits: 1,
    better: 'neither',
    explained: 'How hard this span was flown. When it differs, so may the error, with no change of tune.',
  },
] as const satisfies readonly {
  key: 'trackingRms_dps' | 'lag_ms' | 'gyroRms_dps'
  label: string
  unit: string
  digits: number
  better: 'lower' | 'higher' | 'neither'
  explained: string
}[]

/** The measures of both flights over the same span of the common clock. */
export interface SpanMeasures {
  readonly t0_s: number
  readonly t1_s: number
  readonly a: PerAxis<AxisMeasures>
  readonly b: PerAxis<AxisMeasures>
}

/**
 * Measures A over t0_s..t1_s and B over the same span less offset_s, which is what B's times are moved by to
 * lie on A's.
 */
export function measureSpan(
  a: FlightSignals,
  b: FlightSignals,
  offset_s: number,
  t0_s: number,
  t1_s: number,
): SpanMeasures {
  return {
    t0_s,
    t1_s,
    a: measureFlight(a, t0_s, t1_s),
    b: measureFlight(b, t0_s - offset_s, t1_s - offset_s),
  }
}

/** How differently the two flights were flown, as a caution; null when both were flown about as hard. */
export function flyingCaution(measures: SpanMeasures): string | null {
  const harder = AXES.filter((axis) => {
    const a = measures.a[axis].gyroRms_dps.value
    const b = measures.b[axis].gyroRms_dps.value
    return a !== null && b !== null && Math.max(a, b) > 1.25 * Math.min(a, b)
  })
  if (harder.length === 0) return null
  return `The two flights were not flown alike on ${harder.join(' and ')} (gyro RMS differs by over a quarter): a difference in error may come from the flying.`
}
