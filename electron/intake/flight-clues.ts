import type { Assignment } from '../../workers/columns/roles.ts'
import {
  windowMeans,
  windowSizes,
  type ClueWindows,
  type WindowedClues,
} from '../../workers/flight/find-flights.ts'

/**
 * Adds up what tells flights apart, column by column, so that many motors need no more memory than one, and turning
 * none any more when the last gyro column has been taken.
 */
export class ClueGatherer {
  private readonly windows: ClueWindows
  private readonly gyros: number
  private seenGyros = 0
  private motorCount = 0
  /** Row by row: squares of turning, and the motors' sum. */
  private square: Float32Array | null = null
  private motors: Float32Array | null = null
  /** Window by window. */
  private turn_dps: Float64Array | null = null
  private throttle: Float64Array | null = null
  private spare: Float32Array | null

  /**
   * @param assignments of all columns that will come
   * @param spare memory to work in, as long as the log
   */
  constructor(windows: ClueWindows, assignments: readonly Assignment[], spare: Float32Array) {
    this.windows = windows
    this.gyros = assignments.filter(({ role }) => role.startsWith('gyro.')).length
    this.spare = spare
  }

  /** Takes a column in canonical units; it is not kept, and not changed. */
  add({ role }: Assignment, values: Float32Array): void {
    // Motors tell more than the throttle, and take its place.
    if (role === 'throttle' && !this.motors) this.throttle = windowMeans(this.windows, values)
    if (role.startsWith('motor.')) {
      this.motors ??= this.zeros(values.length)
      addUp(this.motors, values, 1)
      this.motorCount += 1
    }
    if (role.startsWith('gyro.')) {
      this.square ??= this.zeros(values.length)
      addUp(this.square, values, 2)
      this.seenGyros += 1
      if (this.seenGyros === this.gyros) this.endTurning(this.square)
    }
  }

  private zeros(rows: number): Float32Array {
    const zeros = this.spare?.fill(0) ?? new Float32Array(rows)
    this.spare = null
    return zeros
  }

  private endTurning(square: Float32Array): void {
    for (let row = 0; row < square.length; row += 1) square[row] = Math.sqrt(square[row] as number)
    this.turn_dps = windowSizes(this.windows, square)
    this.spare = square
    this.square = null
  }

  /** Everything taken; the gatherer is used up by it. */
  clues(time_s: Float64Array): WindowedClues {
    const { windows, motors, motorCount, turn_dps } = this
    if (motors)
      for (let row = 0; row < motors.length; row += 1) motors[row] = (motors[row] as number) / motorCount
    return {
      time_s,
      windows,
      power: motors ? windowMeans(windows, motors) : this.throttle,
      powerFrom: motors ? 'motors' : 'throttle',
      turn_dps,
    }
  }
}

function addUp(into: Float32Array, values: Float32Array, power: 1 | 2): void {
  for (let row = 0; row < values.length; row += 1) {
    const value = values[row] as number
    into[row] = (into[row] as number) + (power === 2 ? value * value : value)
  }
}
