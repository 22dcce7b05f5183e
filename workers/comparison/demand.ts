import type { Axis } from '../flight/axes.ts'
import { motorChannels, type FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { DEMAND_METHOD, responseByDemand, type ResponseByDemand } from '../response/by-demand.ts'
import { motorLimits } from '../response/headroom.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'
import { refused } from '../signal/result.ts'

/** Step responses of one axis to small and to large demands over t0_s..t1_s of the flight's own clock. */
export function demandOf(signals: FlightSignals, t0_s: number, t1_s: number, axis: Axis): ResponseByDemand {
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const to = firstAfter(signals.t_s, t1_s)
  const setpoint = signals.channels[`setpoint.${axis}`]?.subarray(from, to)
  const gyro = signals.channels[`gyro.${axis}`]?.subarray(from, to)
  const { rate_hz } = signals
  if (!setpoint || !gyro || setpoint.length === 0 || !(rate_hz > 0)) {
    const why =
      setpoint && gyro
        ? 'The flight has no samples in this span.'
        : `The log holds no ${gyro ? 'setpoint' : 'gyro'} for this axis.`
    const none = refused(why, { method: DEMAND_METHOD })
    return { split_dps: 0, small: none, large: none }
  }
  const motors = motorChannels(signals).map((name) => signals.channels[name]!.subarray(from, to))
  return responseByDemand({
    setpoint,
    gyro,
    rate_hz,
    breaks: clockBreaks(signals.t_s.subarray(from, to)),
    ...(motors.length > 0 ? { limited: motorLimits(motors).atTop } : {}),
  })
}
