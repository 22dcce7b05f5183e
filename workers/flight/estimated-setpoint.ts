import { gapMask } from '../clock/clock.ts'
import { estimateSetpoint, fitRateCurve } from '../columns/rate-curve.ts'
import { AXES } from './axes.ts'
import type { ChannelName, FlightSignals } from './signals.ts'

/**
 * The same flight with an estimated setpoint in deg/s for each axis that has stick and gyro but no setpoint, as a
 * channel of its own: it is there to be looked at, and no measure, verdict or alignment takes it for a logged one,
 * since the curve has taken in what the gyro did. No channel where the sticks show no curve (see `fitRateCurve`).
 */
export function withEstimates(signals: FlightSignals): FlightSignals {
  const channels: Partial<Record<ChannelName, Float32Array>> = { ...signals.channels }
  let breaks: Uint8Array | null = null
  for (const axis of AXES) {
    const stick = channels[`stick.${axis}`]
    const gyro = channels[`gyro.${axis}`]
    if (!stick || !gyro || channels[`setpoint.${axis}`] || !(signals.rate_hz > 0)) continue
    breaks ??= gapMask(signals.t_s)
    const curve = fitRateCurve(stick, gyro, signals.rate_hz, breaks)
    if (curve) channels[`estimated.${axis}`] = estimateSetpoint(curve, stick)
  }
  return { ...signals, channels }
}
