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
      this.motors = added(this.motors, values, (value) => value)
      this.motorCount += 1
    }
    if (role.startsWith('gyro.')) this.square = added(this.square, values, (value) => value * value)
  }

  /** Everything taken; the gatherer is used up by it. */
  clues(time_s: Float64Array, restarts: readonly number[], step_s: number): FlightClues {
    const { motors, square, motorCount } = this
    motors?.forEach((sum, row) => (motors[row] = sum / motorCount))
    square?.forEach((sum, row) => (square[row] = Math.sqrt(sum)))
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

function added(
  sum: Float32Array | null,
  values: Float32Array,
  part: (value: number) => number,
): Float32Array {
  const into = sum ?? new Float32Array(values.length)
  for (let row = 0; row < values.length; row += 1)
    into[row] = (into[row] as number) + part(values[row] as number)
  return into
}
