import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { DEMAND_METHOD, responseByDemand, type ResponseByDemand } from '../response/by-demand.ts'
import { refused } from '../signal/result.ts'
import { flightPart } from './flight-part.ts'

/** Step responses of one axis to small and to large demands over t0_s..t1_s of the flight's own clock. */
export function demandOf(signals: FlightSignals, t0_s: number, t1_s: number, axis: Axis): ResponseByDemand {
  const part = flightPart(signals, t0_s, t1_s)
  const setpoint = part.samples(`setpoint.${axis}`)
  const gyro = part.samples(`gyro.${axis}`)
  const { rate_hz } = signals
  if (!setpoint || !gyro || setpoint.length === 0 || !(rate_hz > 0)) {
    const why =
      setpoint && gyro
        ? 'The flight has no samples in this span.'
        : `The log holds no ${gyro ? 'setpoint' : 'gyro'} for this axis.`
    const none = refused(why, { method: DEMAND_METHOD })
    return { split_dps: 0, small: none, large: none }
  }
  const { limits } = part
  return responseByDemand({ ...part.series(axis), ...(limits ? { limited: limits.atTop } : {}) })
}
