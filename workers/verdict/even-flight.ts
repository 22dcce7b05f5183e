import { AXES, perAxis, type PerAxis } from '../flight/axes.ts'
import { motorChannels, type FlightSignals } from '../flight/signals.ts'
import { motorLimits } from '../response/headroom.ts'
import { lag } from '../response/lag.ts'
import { decimated } from '../signal/decimate.ts'
import { toUniform } from '../signal/resample.ts'

/** One flight on an even clock of 250 to 500 Hz (or its own rate, where that is lower): what answers are measured on. */
export interface EvenFlight {
  readonly t0_s: number
  readonly rate_hz: number
  readonly length: number
  /** deg/s; NaN in gaps. Null where not logged. */
  readonly setpoint: PerAxis<Float64Array | null>
  readonly gyro: PerAxis<Float64Array | null>
  /** As logged. */
  readonly iTerm: PerAxis<Float64Array | null>
  readonly throttle: Float64Array | null
  /** Share of each cell in which a motor stood at its highest, lowest command; null without motors. */
  readonly atTop: Float64Array | null
  readonly atIdle: Float64Array | null
  /** Delay of the gyro over the whole flight, s; null where none can be told. */
  readonly lag_s: PerAxis<number | null>
}

const FASTEST_HZ = 500

/** Brings a flight to its even clock: straight lines between samples, then means where the log is faster than 500 Hz. */
export function evenFlight(signals: FlightSignals): EvenFlight {
  const { channels, t_s, rate_hz } = signals
  const factor = Math.max(1, Math.ceil(rate_hz / FASTEST_HZ - 0.02))
  const even = (samples: ArrayLike<number> | undefined) =>
    samples ? decimated(toUniform(t_s, samples, { rate_hz }).samples, factor).samples : null
  const setpoint = perAxis((axis) => even(channels[`setpoint.${axis}`]))
  const gyro = perAxis((axis) => even(channels[`gyro.${axis}`]))
  const motors = motorChannels(signals).map((name) => channels[name]!)
  const limits = motors.length > 0 ? motorLimits(motors) : null
  const slow_hz = rate_hz / factor
  const lag_s = perAxis((axis) => {
    const u = setpoint[axis]
    const y = gyro[axis]
    if (!u || !y || u.length < 100) return null
    const found = lag(u, y, { rate_hz: slow_hz, maxLag_s: 0.2 })
    return found.kind === 'lag' && found.lag_s >= 0 ? found.lag_s : null
  })
  const first = AXES.map((axis) => gyro[axis] ?? setpoint[axis]).find((samples) => samples !== null)
  return {
    // A mean stands for the middle of its cell.
    t0_s: (t_s[0] ?? 0) + (factor - 1) / 2 / rate_hz,
    rate_hz: slow_hz,
    length: first?.length ?? 0,
    setpoint,
    gyro,
    iTerm: perAxis((axis) => even(channels[`iTerm.${axis}`])),
    throttle: even(channels.throttle),
    atTop: limits ? even(limits.atTop) : null,
    atIdle: limits ? even(limits.atIdle) : null,
    lag_s,
  }
}

/** The sample at or after a time of the flight's clock. */
export function sampleAt(flight: EvenFlight, t_s: number): number {
  return Math.ceil((t_s - flight.t0_s) * flight.rate_hz - 1e-9)
}
