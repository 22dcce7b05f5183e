import { Random } from '../model/random.ts'
import { normalCdf, normalQuantile } from './distributions.ts'
import { mean, quantile } from './moments.ts'

export interface BootstrapInterval {
  readonly low: number
  readonly high: number
  /** How far the estimate lies from the middle of its resamples, and how fast its error changes with its size. */
  readonly biasCorrection: number
  readonly acceleration: number
}

export interface BootstrapOptions {
  readonly coverage?: number
  readonly resamples?: number
  readonly seed?: number
}

/**
 * Bias-corrected and accelerated bootstrap interval (Efron, JASA 82, 1987; Efron & Tibshirani 1993, ch. 14 [from memory]).
 * `statistic` gets the indices of the items drawn. The acceleration comes from the jackknife. Resamples on which the statistic is not
 * finite are left out. The same seed gives the same interval; a statistic of the opposite sign gives the mirrored one.
 */
export function bcaInterval(
  count: number,
  statistic: (drawn: Int32Array) => number,
  options: BootstrapOptions = {},
): BootstrapInterval {
  const { coverage = 0.95, resamples = 2000, seed = 1 } = options
  if (!(count >= 2)) throw new Error(`a bootstrap needs at least two items: ${count}`)
  const estimate = statistic(Int32Array.from({ length: count }, (_, k) => k))
  const random = new Random(seed)
  const drawn = new Int32Array(count)
  const values: number[] = []
  for (let round = 0; round < resamples; round++) {
    for (let k = 0; k < count; k++) drawn[k] = Math.floor(random.uniform() * count)
    const value = statistic(drawn)
    if (Number.isFinite(value)) values.push(value)
  }
  const sorted = Float64Array.from(values).sort()
  let below = 0
  for (const value of values) below += value < estimate ? 1 : value === estimate ? 0.5 : 0
  const share = below / values.length
  const bias = normalQuantile(Math.min(1 - 0.5 / resamples, Math.max(0.5 / resamples, share)))
  const acceleration = jackknifeAcceleration(count, statistic)
  const tail = 0.5 * (1 - coverage)
  const at = (z: number) => normalCdf(bias + (bias + z) / (1 - acceleration * (bias + z)))
  const z = normalQuantile(tail)
  return {
    low: quantile(sorted, at(z)),
    high: quantile(sorted, at(-z)),
    biasCorrection: bias,
    acceleration,
  }
}

/** sum (m - t_i)^3 / (6 (sum (m - t_i)^2)^1.5) over the estimates with one item left out each. */
function jackknifeAcceleration(count: number, statistic: (drawn: Int32Array) => number): number {
  const without = new Float64Array(count)
  const kept = new Int32Array(count - 1)
  for (let out = 0; out < count; out++) {
    for (let k = 0; k < count - 1; k++) kept[k] = k < out ? k : k + 1
    without[out] = statistic(kept)
  }
  const middle = mean(without)
  let squares = 0
  let cubes = 0
  for (const value of without) {
    squares += (middle - value) ** 2
    cubes += (middle - value) ** 3
  }
  return squares > 0 ? cubes / (6 * squares ** 1.5) : 0
}
