import type { Axis } from '../flight/axes.ts'
import { linearStep, type LinearPlant } from './linear.ts'
import type { AxisTune, Tune } from './tune.ts'

/** A loop still swinging more than this after 4 s, and not less than half a second before, will not settle. */
const WATCHED_S = 4
const WINDOW_S = 0.5
const SETTLED = 1e-3

/** Whether the linear loop's answer to a step dies down. Judged by simulation over 4 s. */
export function isStable(tune: Tune, axis: Axis, plant: LinearPlant, rate_hz: number): boolean {
  const { gyro } = linearStep(tune, axis, plant, rate_hz, WATCHED_S)
  const window = Math.round(WINDOW_S * rate_hz)
  const last = swing(gyro, gyro.length - window, gyro.length)
  const before = swing(gyro, gyro.length - 3 * window, gyro.length - 2 * window)
  if (!Number.isFinite(last)) return false
  return last < SETTLED || last < before
}

/** Feed-forward stands outside the loop: it can't make it unstable. */
const GAINS = ['p', 'd', 'i'] as const
type Gain = (typeof GAINS)[number]

/** A gain that makes a loop unstable, and the largest value at which it would still settle with the others as they are. */
export interface UnstableGain {
  readonly gain: Gain
  readonly value: number
  /** 0 when not even that helps: then several gains are too high at once. */
  readonly limit: number
}

/** Finds the gain to blame for an unstable loop: the one whose lowering alone, least in proportion, settles it. */
export function blameForInstability(
  tune: Tune,
  axis: Axis,
  plant: LinearPlant,
  rate_hz: number,
): UnstableGain {
  const gains = tune.axes[axis]
  let best: UnstableGain = { gain: 'p', value: gains.p, limit: 0 }
  let bestShare = 0
  for (const gain of GAINS) {
    if (gains[gain] === 0) continue
    const share = stableShare(tune, axis, plant, rate_hz, gain)
    if (share > bestShare) {
      bestShare = share
      best = { gain, value: gains[gain], limit: share * gains[gain] }
    }
  }
  return best
}

/** Largest share of a gain, by halving, at which the loop settles; 0 when it does not even without the gain. */
function stableShare(tune: Tune, axis: Axis, plant: LinearPlant, rate_hz: number, gain: Gain): number {
  const settles = (share: number) => {
    const gains: AxisTune = { ...tune.axes[axis], [gain]: tune.axes[axis][gain] * share }
    return isStable({ ...tune, axes: { ...tune.axes, [axis]: gains } }, axis, plant, rate_hz)
  }
  // Lowered too far a gain can leave the others alone and unstable again: look from the top down.
  let high = 1
  let low = high / STEP_DOWN
  while (!settles(low)) {
    high = low
    low /= STEP_DOWN
    if (low < LEAST_SHARE) return 0
  }
  for (let round = 0; round < 10; round++) {
    const middle = (low + high) / 2
    if (settles(middle)) low = middle
    else high = middle
  }
  return low
}

const STEP_DOWN = 1.4
const LEAST_SHARE = 1e-3

/** Largest minus smallest value in a stretch. */
function swing(values: Float64Array, from: number, to: number): number {
  let low = Infinity
  let high = -Infinity
  for (let index = from; index < to; index++) {
    const value = values[index]!
    if (Number.isNaN(value)) return Number.NaN
    if (value < low) low = value
    if (value > high) high = value
  }
  return high - low
}
