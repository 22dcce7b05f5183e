import type { Assignment } from '../../workers/columns/roles.ts'
import type { FlightClues } from '../../workers/flight/find-flights.ts'
import { giveBack } from './give-back.ts'

/** Adds up what tells flights apart, column by column, so that many motors need no more memory than one. */
export class ClueGatherer {
  private throttle: Float32Array<ArrayBuffer> | null = null
  private motors: Float32Array | null = null
  private motorCount = 0
  private square: Float32Array | null = null

  /** Takes a column in canonical units; it is not kept, and not changed. */
  add({ role }: Assignment, values: Float32Array): void {
    // Motors tell more than the throttle, and take its place.
    if (role === 'throttle' && !this.motors) this.throttle = values.slice()
    if (role.startsWith('motor.')) {
      giveBack([this.throttle])
      this.throttle = null
      this.motors = added(this.motors, values, 1)
      this.motorCount += 1
    }
    if (role.startsWith('gyro.')) this.square = added(this.square, values, 2)
  }

  /** Everything taken; the gatherer is used up by it. */
  clues(time_s: Float64Array, restarts: readonly number[], step_s: number): FlightClues {
    const { motors, square, motorCount } = this
    if (motors)
      for (let row = 0; row < motors.length; row += 1) motors[row] = (motors[row] as number) / motorCount
    if (square)
      for (let row = 0; row < square.length; row += 1) square[row] = Math.sqrt(square[row] as number)
    return {
      time_s,
      step_s,
      restarts,
      power: motors ?? this.throttle,
      powerFrom: motors ? 'motors' : 'throttle',
      turn_dps: square,
    }
  }
}

function added(sum: Float32Array | null, values: Float32Array, power: 1 | 2): Float32Array {
  const into = sum ?? new Float32Array(values.length)
  for (let row = 0; row < values.length; row += 1) {
    const value = values[row] as number
    into[row] = (into[row] as number) + (power === 2 ? value * value : value)
  }
  return into
}
