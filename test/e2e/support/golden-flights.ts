import { writeFileSync } from 'node:fs'
import { join } from 'node:path'

const RATE_HZ = 1000
const SECONDS = 14

/**
 * Two flights by formula, never to be changed: swings on every axis, a gyro that follows them late, a tone that climbs
 * with the throttle, motors that reach their end. The second is late by 0.4 s, follows faster, is louder above 150 Hz
 * and has a gap. Writes them as tables into a folder; returns their paths.
 */
export function writeGoldenFlights(folder: string): string[] {
  return [0, 1].map((which) => {
    const late_s = which * 0.4
    const lag_s = which === 0 ? 0.03 : 0.015
    let phase = 0
    const lines = [
      'time (s),setpoint roll (deg/s),setpoint pitch (deg/s),setpoint yaw (deg/s),gyro roll (deg/s),gyro pitch (deg/s),gyro yaw (deg/s),throttle (%),motor 1 (%),motor 2 (%),motor 3 (%),motor 4 (%)',
    ]
    for (let n = 0; n < SECONDS * RATE_HZ; n++) {
      const t = n / RATE_HZ - late_s
      if (which === 1 && t > 8.2 && t < 8.8) continue
      const throttle = 40 + 25 * Math.sin(0.9 * t)
      phase += (2 * Math.PI * (110 + 1.6 * throttle)) / RATE_HZ
      const tone = 6 * Math.sin(phase) + (which === 1 ? 5 * Math.sin(2.1 * phase) : 0)
      const rough = 3 * Math.sin(1e4 * Math.sin(n * 12.9898 + which))
      const gyro = [0, 1, 2].map((axis) => swing(t - lag_s, axis) + tone / (1 + axis) + rough)
      const motors = [0, 1, 2, 3].map((motor) =>
        Math.min(100, throttle * 1.55 + 4 * Math.sin(40 * t + motor)),
      )
      const cells = [...[0, 1, 2].map((axis) => swing(t, axis)), ...gyro, throttle, ...motors]
      lines.push(`${(n / RATE_HZ).toFixed(4)},${cells.map((cell) => cell.toFixed(3)).join(',')}`)
    }
    const path = join(folder, `golden-${which === 0 ? 'a' : 'b'}.csv`)
    writeFileSync(path, lines.join('\n'))
    return path
  })
}

/** A swing of the stick every two seconds, each axis in its turn, smooth at both ends. */
function swing(t_s: number, axis: number): number {
  const within = (((t_s - 0.6 * axis) % 2) + 2) % 2
  return within < 0.7
    ? (420 - 130 * axis) * Math.sin((Math.PI * within) / 0.7) ** 3 * Math.sin((2 * Math.PI * within) / 0.7)
    : 0
}
