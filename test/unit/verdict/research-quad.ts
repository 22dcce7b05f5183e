import { readFileSync } from 'node:fs'
import { AXES } from '../../../workers/flight/axes.ts'
import type { ChannelName, FlightSignals } from '../../../workers/flight/signals.ts'
import { DEG_PER_RAD } from '../../../workers/units/units.ts'
import { sharedData } from '../../shared-data.ts'

type Wanted = Partial<Record<ChannelName, readonly [column: string, scale: number]>>

const rates = (prefix: string, scale: number, role: 'gyro' | 'setpoint') =>
  Object.fromEntries(
    AXES.map((axis) => [`${role}.${axis}`, [`${prefix}.${axis[0]!}`, scale]]),
  ) as unknown as Wanted

/** Columns as the README of the shared data has them. */
const COLUMNS: Record<'gains' | 'controller', Wanted> = {
  gains: {
    ...rates('real_rate', DEG_PER_RAD, 'gyro'),
    ...rates('target_rate', 1, 'setpoint'),
    throttle: ['target_rate.thrust', 1 / 65535],
  },
  controller: {
    'gyro.roll': ['imu_gyro_x', DEG_PER_RAD],
    'gyro.pitch': ['imu_gyro_y', -DEG_PER_RAD],
    'gyro.yaw': ['imu_gyro_z', DEG_PER_RAD],
    throttle: ['pid_controller_cmd_thrust', 1 / 65535],
    'motor.1': ['motor_motor_m1', 1 / 65535],
    'motor.2': ['motor_motor_m2', 1 / 65535],
    'motor.3': ['motor_motor_m3', 1 / 65535],
    'motor.4': ['motor_motor_m4', 1 / 65535],
  },
}

/** A log of the shared research quad in canonical units; null when the data are not there. */
export function researchQuad(name: string, columns: keyof typeof COLUMNS): FlightSignals | null {
  const path = sharedData(`research-quad/${name}.csv`)
  if (path === null) return null
  const [header, ...lines] = readFileSync(path, 'utf8').trim().split('\n')
  const names = header!.split(',').map((one) => one.trim())
  const rows = lines.map((line) => line.split(',').map(Number))
  const column = (wanted: string) => {
    const index = names.indexOf(wanted)
    if (index < 0) throw new Error(`${name} has no column ${wanted}`)
    return rows.map((row) => row[index]!)
  }
  const time = column('time_s')
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  for (const [role, [wanted, scale]] of Object.entries(COLUMNS[columns]) as [
    ChannelName,
    readonly [string, number],
  ][])
    channels[role] = Float32Array.from(column(wanted), (value) => value * scale)
  const t_s = Float64Array.from(time, (t) => t - time[0]!)
  return { t_s, rate_hz: (t_s.length - 1) / t_s.at(-1)!, channels }
}
