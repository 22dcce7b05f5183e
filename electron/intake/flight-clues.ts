import { applyAssignment } from '../../workers/columns/apply-assignment.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { FlightClues } from '../../workers/flight/find-flights.ts'

/**
 * Gathers what tells flights apart, one column at a time, so that a long log with many motors needs no more memory
 * than three columns.
 */
export async function gatherClues(
  time_s: Float64Array,
  restarts: readonly number[],
  assignments: readonly Assignment[],
  column: (index: number) => Promise<Float32Array | Float64Array>,
): Promise<FlightClues> {
  const motors = assignments.filter((one) => one.role.startsWith('motor.'))
  const throttle = assignments.filter((one) => one.role === 'throttle')
  const gyro = assignments.filter((one) => one.role.startsWith('gyro.'))
  const sources = motors.length > 0 ? motors : throttle
  const power = await gather(sources, column, (value) => value / sources.length)
  const turn_dps = await gather(gyro, column, (value) => value * value)
  return {
    time_s,
    restarts,
    power,
    powerFrom: motors.length > 0 ? 'motors' : 'throttle',
    turn_dps: turn_dps?.map(Math.sqrt) ?? null,
  }
}

/** Adds up columns row by row; null when there is none. */
async function gather(
  assignments: readonly Assignment[],
  column: (index: number) => Promise<Float32Array | Float64Array>,
  part: (value: number) => number,
): Promise<Float32Array | null> {
  let sum: Float32Array | null = null
  for (const assignment of assignments) {
    const values = applyAssignment(await column(assignment.column), assignment)
    sum ??= new Float32Array(values.length)
    for (let row = 0; row < values.length; row += 1) {
      sum[row] = (sum[row] as number) + part(values[row] as number)
    }
  }
  return sum
}
