import { AXES } from '../../../workers/flight/axes.ts'
import type { ChannelName, FlightSignals } from '../../../workers/flight/signals.ts'
import type { FlightRecord } from '../../../workers/model/flight.ts'

/** A simulated record as the program would have it after reading its log. */
export function signalsOf(record: FlightRecord): FlightSignals {
  const channels: Partial<Record<ChannelName, Float32Array>> = {
    throttle: record.throttle,
    battery: record.voltage_V,
  }
  AXES.forEach((axis, index) => {
    channels[`gyro.${axis}`] = record.gyro_dps[index]!
    channels[`setpoint.${axis}`] = record.setpoint_dps[index]!
    channels[`stick.${axis}`] = record.stick[index]!
    channels[`unfiltered.${axis}`] = record.gyroRaw_dps[index]!
    channels[`iTerm.${axis}`] = record.iTerm[index]!
    channels[`dTerm.${axis}`] = record.dTerm[index]!
  })
  record.motor.forEach((motor, index) => {
    channels[`motor.${index + 1}`] = motor
  })
  record.speed_revps.forEach((speed, index) => {
    channels[`speed.${index + 1}`] = speed.map((turns) => 60 * turns)
  })
  const last = record.t_s[record.rows - 1]!
  return { t_s: record.t_s, rate_hz: (record.rows - 1) / last, channels }
}
