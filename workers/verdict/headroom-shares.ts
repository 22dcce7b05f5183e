import { torqueLimited } from '../response/headroom.ts'
import type { Measurable } from './answers.ts'
import type { HeadroomShares } from './comparison.ts'
import { sampleAt } from './even-flight.ts'

/** How often the motors stood at their limits, and in how many stick manoeuvres the craft was short of torque. Null without motors. */
export function headroomShares({ even, manoeuvres }: Measurable): HeadroomShares | null {
  const { atTop, atIdle, rate_hz } = even
  if (!atTop || !atIdle) return null
  let torque = 0
  let judged = 0
  for (const { axis, start_s, end_s } of manoeuvres) {
    if (axis === null) continue
    const setpoint = even.setpoint[axis]
    const gyro = even.gyro[axis]
    if (!setpoint || !gyro) continue
    const from = Math.max(0, sampleAt(even, start_s))
    const to = Math.min(even.length, sampleAt(even, end_s + 0.3))
    if (to - from < 0.1 * rate_hz) continue
    judged++
    if (torqueLimited({ setpoint, gyro, atLimit: atTop, rate_hz, from, to }).kind === 'torque-limited')
      torque++
  }
  return {
    atTop_percent: 100 * meanShare(atTop),
    atIdle_percent: 100 * meanShare(atIdle),
    torqueLimited: torque,
    judged,
  }
}

function meanShare(shares: Float64Array): number {
  let sum = 0
  let count = 0
  for (const share of shares) {
    if (!Number.isFinite(share)) continue
    sum += share
    count++
  }
  return count > 0 ? sum / count : 0
}
