import { perAxis, type PerAxis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { detectManoeuvres } from '../manoeuvre/detect.ts'
import { evenFlight } from './even-flight.ts'
import { explainedBySetpoint } from './explained.ts'
import { watchAxis, type Watch } from './stick-or-rest.ts'

/**
 * All axes of a flight made ready to be asked whether the stick made a movement (see stick-or-rest.ts); null for an
 * axis without setpoint, gyro or enough quiet flight. Costs a second or so; asking is cheap.
 */
export function watchFlight(signals: FlightSignals): PerAxis<Watch | null> {
  const even = evenFlight(signals)
  const manoeuvres = detectManoeuvres(signals)
  return perAxis((axis) => {
    const setpoint = even.setpoint[axis]
    const gyro = even.gyro[axis]
    const explained = setpoint && gyro ? explainedBySetpoint(setpoint, gyro, even.rate_hz) : null
    return watchAxis(axis, even, explained, manoeuvres)
  })
}
