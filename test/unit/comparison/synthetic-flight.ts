import { AXES } from '../../../workers/flight/axes.ts'
import type { ChannelName, FlightSignals } from '../../../workers/flight/signals.ts'

interface Shape {
  readonly rate_hz: number
  readonly duration_s: number
  readonly delay_s?: number
  readonly f_hz?: number
  readonly amplitude_dps?: number
  /** Another seed is another flight: the commands are a sum of sines with phases of its own. */
  readonly seed?: number
}

/** A flight whose gyro is its setpoint, delayed: every figure of it is known. */
export function syntheticFlight(shape: Shape) {
  const { rate_hz, duration_s, delay_s = 0.02, f_hz, amplitude_dps = 200, seed = 1 } = shape
  const count = Math.round(rate_hz * duration_s)
  const t_s = Float64Array.from({ length: count }, (_, index) => index / rate_hz)
  const tones = f_hz === undefined ? [0.37, 0.83, 1.71, 2.9] : [f_hz]
  const command = (axis: number, at_s: number) =>
    tones.reduce((sum, tone, index) => {
      const phase = f_hz === undefined ? (seed * 1.3 + axis * 2.1 + index * 0.7) ** 2 : 0
      return sum + (amplitude_dps / tones.length) * Math.sin(2 * Math.PI * tone * at_s + phase)
    }, 0)
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  AXES.forEach((axis, index) => {
    channels[`setpoint.${axis}`] = Float32Array.from(t_s, (at_s) => command(index, at_s))
    channels[`gyro.${axis}`] = Float32Array.from(t_s, (at_s) => command(index, at_s - delay_s))
  })
  channels.throttle = Float32Array.from(t_s, (at_s) => 0.5 + 0.2 * Math.sin(at_s))
  return { t_s, rate_hz, channels } satisfies FlightSignals
}
