import { tableFromArrays, tableToIPC } from 'apache-arrow'
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'

const AXES = ['roll', 'pitch', 'yaw']

/**
 * Writes two Arrow logs of a made flight, as long as asked at 2 kHz: stick sweeps and stops on each axis in turn with a
 * gyro that follows some milliseconds later, throttle, four motors. The second one follows a little faster.
 */
export function writePair(folder: string, length_s: number): [string, string] {
  const rows = length_s * 2000
  return [0.012, 0.009].map((lag_s, index) => {
    const t_s = Float64Array.from({ length: rows }, (_, row) => row / 2000)
    const command = (axis: number) => (time_s: number) => {
      const turn = Math.floor(time_s / 4) % 3
      return turn === axis
        ? 350 * Math.sin(2 * Math.PI * (0.4 + 0.15 * axis) * time_s)
        : 4 * Math.sin(time_s * 3)
    }
    let seed = index + 1
    const noise = () => (seed = (seed * 48271) % 2147483647) / 2147483647 - 0.5
    const column = (make: (time_s: number) => number) => Float32Array.from(t_s, (time_s) => make(time_s))
    const table = tableFromArrays({
      'time (s)': t_s,
      ...Object.fromEntries(
        AXES.flatMap((axis, at) => [
          [`setpoint ${axis} (deg/s)`, column(command(at))],
          [`gyro ${axis} (deg/s)`, column((time_s) => command(at)(time_s - lag_s) + 12 * noise())],
        ]),
      ),
      'throttle (%)': column((time_s) => (time_s < 1 ? 0 : 42 + 9 * Math.sin(time_s / 5))),
      ...Object.fromEntries(
        [1, 2, 3, 4].map((motor) => [
          `motor ${motor} (%)`,
          column((time_s) => (time_s < 1 ? 0 : 42 + 12 * noise())),
        ]),
      ),
    })
    const path = join(folder, index === 0 ? 'before.arrow' : 'after.arrow')
    writeFileSync(path, tableToIPC(table, 'file'))
    return path
  }) as [string, string]
}
