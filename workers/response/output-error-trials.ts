import type { Run } from '../signal/segments.ts'
import { fourSystems, SUM, SUMS, type RunFour } from './four-systems.ts'
import type { SecondOrder } from './second-order.ts'

/** Parts of the flight that are left out in turn for the sampling error. */
export const GROUPS = 12

/** Log of the natural frequency, log of the damping, delay in ms: steps of like size in each. */
export type Search = readonly [number, number, number]

/** The system at a point of the search. */
export const systemOf = ([frequency, damping, delay_ms]: Search, gain: number): SecondOrder => ({
  gain,
  natural_radps: Math.exp(frequency),
  damping: Math.exp(damping),
  delay_s: delay_ms / 1000,
})

export const moved = (search: Search, step: Search): Search => [
  search[0] + step[0],
  search[1] + step[1],
  search[2] + step[2],
]

/** By how much each parameter is moved to see what it does. */
export const SHIFTS = [0.01, 0.02, 0.2] as const
/** The three and gain and offset. */
export const SIZE = 5

/** What a point of the search leaves unexplained, and what is around it. */
export interface Trial {
  readonly search: Search
  readonly cost: number
  readonly gain: number
  readonly offset: number
  /** Of the groups, with the answers next to the point along each parameter as d0, d1 and d2. */
  readonly sums: Float64Array
}

export interface Equations {
  /** Lower triangle, SIZE x SIZE. */
  readonly normal: Float64Array
  readonly right: Float64Array
}

/** A flight to which systems are tried. */
export class Trials {
  readonly variance: number
  readonly #run: RunFour
  readonly #meanY: number
  readonly #squaresY: number
  /** Counted samples of each group, and their sum about the mean. */
  readonly #counts: Float64Array
  readonly #sumsY: Float64Array
  readonly #count: number

  constructor(
    setpoint: Float64Array,
    gyro: Float64Array,
    rate_hz: number,
    stretches: readonly Run[],
    settling: number,
  ) {
    const counted = stretches.map(({ start, end }) => ({ start: start + settling, end }))
    this.#count = counted.reduce((sum, { start, end }) => sum + end - start, 0)
    this.#meanY = counted.reduce((sum, run) => sum + sumOf(gyro, 0, run), 0) / this.#count
    this.#squaresY = counted.reduce((sum, run) => sum + squaresOf(gyro, this.#meanY, run), 0)
    this.variance = this.#squaresY / this.#count
    const bound = (group: number) => Math.round((group * this.#count) / GROUPS)
    this.#counts = Float64Array.from({ length: GROUPS }, (_, group) => bound(group + 1) - bound(group))
    this.#sumsY = Float64Array.from({ length: GROUPS }, (_, group) =>
      cut(counted, bound(group), bound(group + 1)).reduce(
        (sum, run) => sum + sumOf(gyro, this.#meanY, run),
        0,
      ),
    )
    this.#run = fourSystems({
      ...{ input: setpoint, measured: gyro, mean: this.#meanY, rate_hz, stretches, settling, groups: GROUPS },
    })
  }

  /** The point of three that leaves least. */
  bestOf([one, two, three]: readonly Search[]): Search {
    const sums = this.#run([systemOf(one!, 1), systemOf(two!, 1), systemOf(three!, 1), systemOf(three!, 1)])
    const total = (name: keyof typeof SUM) => this.#total(sums, name)
    const [x, xx, xy] = [total('x'), total('xx'), total('xy')]
    const costs = [
      this.#fit(total('d0') + x, total('d0d0') + 2 * total('d0x') + xx, total('d0y') + xy).cost,
      this.#fit(total('d1') + x, total('d1d1') + 2 * total('d1x') + xx, total('d1y') + xy).cost,
      this.#fit(x, xx, xy).cost,
    ]
    return [one!, two!, three!][costs.indexOf(Math.min(...costs))]!
  }

  at(search: Search): Trial {
    const sums = this.#run([
      systemOf(moved(search, [SHIFTS[0], 0, 0]), 1),
      systemOf(moved(search, [0, SHIFTS[1], 0]), 1),
      systemOf(moved(search, [0, 0, SHIFTS[2]]), 1),
      systemOf(search, 1),
    ])
    const total = (name: keyof typeof SUM) => this.#total(sums, name)
    return { search, sums, ...this.#fit(total('x'), total('xx'), total('xy')) }
  }

  #total(sums: Float64Array, name: keyof typeof SUM): number {
    let total = 0
    for (let at = SUM[name]; at < sums.length; at += SUMS) total += sums[at]!
    return total
  }

  /** Gain and offset that suit an answer best, from its sum, its squares and its products with the gyro. */
  #fit(sum: number, squares: number, product: number): Pick<Trial, 'cost' | 'gain' | 'offset'> {
    const spread = squares - (sum * sum) / this.#count
    const gain = spread > 0 ? product / spread : 0
    return {
      cost: Math.max(0, this.#squaresY - gain * product) / this.#count,
      gain,
      offset: this.#meanY - (gain * sum) / this.#count,
    }
  }

  /**
   * Sums of products of the five columns - three sensitivities, gain and offset, which are free as well - and of each
   * with the residual, over all groups but `left`.
   */
  equations({ sums, gain, offset }: Trial, left = -1): Equations {
    const s = new Float64Array(SUMS)
    let count = 0
    let y = 0
    for (let group = 0; group < GROUPS; group++) {
      if (group === left) continue
      for (let k = 0; k < SUMS; k++) s[k]! += sums[SUMS * group + k]!
      count += this.#counts[group]!
      y += this.#sumsY[group]!
    }
    const of = (name: keyof typeof SUM) => s[SUM[name]]!
    const above = offset - this.#meanY
    // The residual is y - above - gain x.
    const withResidual = (withY: number, sum: number, withX: number) => withY - above * sum - gain * withX
    const square = gain * gain
    return {
      normal: Float64Array.of(
        ...[square * of('d0d0'), 0, 0, 0, 0],
        ...[square * of('d0d1'), square * of('d1d1'), 0, 0, 0],
        ...[square * of('d0d2'), square * of('d1d2'), square * of('d2d2'), 0, 0],
        ...[gain * of('d0x'), gain * of('d1x'), gain * of('d2x'), of('xx'), 0],
        ...[gain * of('d0'), gain * of('d1'), gain * of('d2'), of('x'), count],
      ),
      right: Float64Array.of(
        gain * withResidual(of('d0y'), of('d0'), of('d0x')),
        gain * withResidual(of('d1y'), of('d1'), of('d1x')),
        gain * withResidual(of('d2y'), of('d2'), of('d2x')),
        withResidual(of('xy'), of('x'), of('xx')),
        withResidual(y, count, of('x')),
      ),
    }
  }
}

function sumOf(values: Float64Array, mean: number, { start, end }: Run): number {
  let sum = 0
  for (let n = start; n < end; n++) sum += values[n]! - mean
  return sum
}

function squaresOf(values: Float64Array, mean: number, { start, end }: Run): number {
  let sum = 0
  for (let n = start; n < end; n++) sum += (values[n]! - mean) ** 2
  return sum
}

/** The samples numbered from..to (not included) of the stretches, counted through them. */
function cut(stretches: readonly Run[], from: number, to: number): Run[] {
  const parts: Run[] = []
  let before = 0
  for (const { start, end } of stretches) {
    const first = Math.max(start, start + from - before)
    const last = Math.min(end, start + to - before)
    if (last > first) parts.push({ start: first, end: last })
    before += end - start
  }
  return parts
}
