import type { Role } from '../columns/roles.ts'

/**
 * What a flight looks like at a glance: power and turning over a few dozen equal steps of its time, in whole percent
 * and tenths of deg/s, so that it is small enough to stand in every line of a long list.
 */
export interface ActivityStrip {
  /** Mean throttle, or mean of the motors where no throttle is logged, percent; null for a step without a value. */
  readonly power_percent: readonly (number | null)[] | null
  readonly powerFrom: 'throttle' | 'motors'
  /** Root mean square of the turn rate about all logged axes together, deg/s; null for a step without a value. */
  readonly turn_dps: readonly (number | null)[] | null
}

export const STRIP_STEPS = 48

/** Sums of one column, or of several of a kind, step by step. */
interface Sums {
  readonly sum: Float64Array
  readonly count: Float64Array
}

/** Gathers a strip column by column; columns are in canonical units, are not kept and not changed. NaN takes no part. */
export class StripGatherer {
  private readonly rows: number
  /** The rows of step i are [starts[i], starts[i + 1]). */
  private readonly starts: readonly number[]
  private throttle: Sums | null = null
  private motors: Sums | null = null
  private readonly axes: Sums[] = []

  /** @param time_s non-decreasing stamps of the flight's rows */
  constructor(time_s: Float64Array) {
    this.rows = time_s.length
    this.starts = Array.from({ length: STRIP_STEPS + 1 }, (_, step) =>
      step === STRIP_STEPS ? time_s.length : firstRowOf(step, time_s),
    )
  }

  /** @throws Error for a column of another length than the stamps */
  add(role: Role, values: Float32Array): void {
    if (values.length !== this.rows) {
      throw new Error(`${role} has ${values.length} values for ${this.rows} stamps`)
    }
    if (role === 'throttle') this.throttle = this.gather(values, 1)
    else if (role.startsWith('motor.')) this.motors = this.gather(values, 1, this.motors ?? undefined)
    else if (role.startsWith('gyro.')) this.axes.push(this.gather(values, 2))
  }

  strip(): ActivityStrip {
    const power = this.throttle ?? this.motors
    return {
      power_percent: power && Array.from(meansOf(power), (mean) => rounded(100 * mean, 1)),
      powerFrom: this.throttle ? 'throttle' : 'motors',
      turn_dps: this.axes.length === 0 ? null : this.turning(),
    }
  }

  /** Mean squares add up over the axes that have a value. */
  private turning(): (number | null)[] {
    const means = this.axes.map(meansOf)
    return Array.from({ length: STRIP_STEPS }, (_, step) => {
      const known = means.map((axis) => axis[step] as number).filter((mean) => !Number.isNaN(mean))
      if (known.length === 0) return null
      return rounded(Math.sqrt(known.reduce((sum, mean) => sum + mean, 0)), 10)
    })
  }

  private gather(values: Float32Array, power: 1 | 2, into: Sums = emptySums()): Sums {
    const { sum, count } = into
    for (let step = 0; step < STRIP_STEPS; step += 1) {
      const end = this.starts[step + 1] as number
      let total = sum[step] as number
      let known = count[step] as number
      for (let row = this.starts[step] as number; row < end; row += 1) {
        const value = values[row] as number
        if (Number.isNaN(value)) continue
        total += power === 2 ? value * value : value
        known += 1
      }
      sum[step] = total
      count[step] = known
    }
    return into
  }
}

/** The first row of a step, by halving: rows stand in the order of their steps. */
function firstRowOf(step: number, time_s: Float64Array): number {
  const first_s = time_s[0] ?? 0
  const length_s = (time_s.at(-1) ?? 0) - first_s
  let from = 0
  let to = time_s.length
  while (from < to) {
    const row = (from + to) >> 1
    // Where the clock stands still, steps are of equal numbers of rows instead.
    const share = length_s > 0 ? ((time_s[row] as number) - first_s) / length_s : row / time_s.length
    if (Math.min(STRIP_STEPS - 1, Math.floor(share * STRIP_STEPS)) < step) from = row + 1
    else to = row
  }
  return from
}

const emptySums = (): Sums => ({ sum: new Float64Array(STRIP_STEPS), count: new Float64Array(STRIP_STEPS) })
const meansOf = ({ sum, count }: Sums): Float64Array =>
  sum.map((total, step) => total / (count[step] as number))
const rounded = (value: number, parts: number): number | null =>
  Number.isNaN(value) ? null : Math.round(value * parts) / parts
