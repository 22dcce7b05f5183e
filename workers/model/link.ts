import { lowPass1, Filter } from './filters.ts'
import { Random, seedFor } from './random.ts'

/** The radio link that brings the sticks to the craft. */
export interface Link {
  /** Updates a second, 50..500. */
  readonly rate_hz: number
  /** Spread of the time between updates, as a share of it. */
  readonly jitter: number
  /** Share of updates that never arrive. */
  readonly loss: number
}

/** Steps of a stick's range -1..1 that the link can tell apart. */
const STICK_STEPS = 1000

/** Holds what the craft heard last: roll, pitch and yaw stick -1..1 and throttle 0..1. */
export class LinkState {
  readonly heard = new Float64Array(4)
  private readonly link: Link
  private readonly random: Random
  private readonly next = new Float64Array(1)

  constructor(link: Link, seed: number) {
    this.link = link
    this.random = new Random(seedFor(seed, 'link'))
  }

  step(t_s: number, sticks: Float64Array): void {
    if (t_s < this.next[0]!) return
    const interval_s = 1 / this.link.rate_hz
    const spread = 1 + this.link.jitter * (2 * this.random.uniform() - 1)
    this.next[0] = this.next[0]! + interval_s * spread
    if (this.link.loss > 0 && this.random.uniform() < this.link.loss) return
    for (let index = 0; index < 4; index++)
      this.heard[index] = Math.round(sticks[index]! * STICK_STEPS) / STICK_STEPS
  }
}

/** Smooths the link's steps by two first-order low-passes in a row. */
export class Smoother {
  private readonly first: Filter | null
  private readonly second: Filter | null

  constructor(f_hz: number | null, rate_hz: number) {
    this.first = f_hz === null ? null : new Filter(lowPass1(f_hz, rate_hz))
    this.second = f_hz === null ? null : new Filter(lowPass1(f_hz, rate_hz))
  }

  step(value: number): number {
    if (this.first === null || this.second === null) return value
    return this.second.step(this.first.step(value))
  }
}
