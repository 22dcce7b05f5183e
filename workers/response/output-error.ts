import type { Run } from '../signal/segments.ts'
import {
  GROUPS,
  moved,
  SHIFTS,
  SIZE,
  systemOf,
  Trials,
  type Search,
  type Trial,
} from './output-error-trials.ts'
import type { SecondOrder } from './second-order.ts'
import { solveSymmetric } from './solve-symmetric.ts'

/** A second-order system fitted to a flight. */
export interface OutputErrorFit {
  readonly system: SecondOrder
  /** Steady gyro at setpoint 0. */
  readonly offset: number
  /** Mean square of what the system does not explain. */
  readonly residual: number
  /** Share of the gyro's variance explained, free-running: 1 - residual / variance. */
  readonly explained: number
  readonly samples: number
  readonly iterations: number
  /** False: the search ran out of steps; take the numbers as rough. */
  readonly settled: boolean
  /** The system as fitted without each of GROUPS equal parts of the flight (one Gauss-Newton step each). */
  readonly without: readonly SecondOrder[]
}

/** Start of a run that the system's unknown state spoils, s. */
const SETTLING_S = 0.3
const MOST_ITERATIONS = 20
/** Long flights are fitted in every second, third... stretch of this length, so that about so many samples take part. */
const STRETCH_S = 6
const ENOUGH_SAMPLES = 25_000

/** Cuts runs into stretches and keeps one in so many, evenly, that about ENOUGH_SAMPLES are left. */
function thinned(runs: readonly Run[], stretch: number): Run[] {
  const total = runs.reduce((sum, run) => sum + run.end - run.start, 0)
  const every = Math.floor(total / ENOUGH_SAMPLES)
  if (every < 2) return [...runs]
  const cuts = runs.flatMap(({ start, end }) => {
    const count = Math.max(1, Math.round((end - start) / stretch))
    const bound = (k: number) => start + Math.round((k * (end - start)) / count)
    return Array.from({ length: count }, (_, k) => ({ start: bound(k), end: bound(k + 1) }))
  })
  return cuts.filter((_, index) => index % every === 0)
}

/** The search starts at the best of these. */
const STARTS = [4, 9, 20].map((f_hz): Search => [Math.log(2 * Math.PI * f_hz), Math.log(0.7), 5])

const LOWEST: Search = [Math.log(2 * Math.PI * 0.5), Math.log(0.1), 0]
const HIGHEST: Search = [Math.log(2 * Math.PI * 120), Math.log(5), 120]

/**
 * Fits gain, natural frequency, damping, delay and offset so that the free-running system's answer to the setpoint
 * comes nearest to the gyro in mean square (output error). Gain and offset are solved for at each step, the
 * rest by damped Gauss-Newton from the best of several starts. `runs` are stretches without gap or NaN; the first 0.3 s of each
 * only settle the state. Returns null when less than `SETTLING_S` and 100 samples are left to fit.
 */
export function fitSecondOrder(
  setpoint: Float64Array,
  gyro: Float64Array,
  rate_hz: number,
  runs: readonly Run[],
): OutputErrorFit | null {
  const settling = Math.ceil(SETTLING_S * rate_hz)
  const usable = thinned(
    runs.filter((run) => run.end - run.start > 2 * settling),
    Math.round(STRETCH_S * rate_hz),
  )
  const samples = usable.reduce((sum, run) => sum + run.end - run.start - settling, 0)
  if (samples < 100) return null
  const fit = new Trials(setpoint, gyro, rate_hz, usable, settling)
  let best = fit.at(fit.bestOf(STARTS))
  let damp = 1e-3
  let iterations = 0
  let settled = false
  while (iterations < MOST_ITERATIONS && !settled) {
    iterations++
    const { normal, right } = fit.equations(best)
    let improved = false
    for (let attempt = 0; attempt < 8 && !improved; attempt++) {
      const step = boundedStep(normal, right, damp, best.search).search
      const next = fit.at(clamp(moved(best.search, step)))
      if (next.cost < best.cost) {
        settled = best.cost - next.cost < 1e-5 * best.cost
        best = next
        damp = Math.max(1e-9, damp / 5)
        improved = true
      } else damp *= 6
    }
    if (!improved) settled = true
  }
  return {
    system: systemOf(best.search, best.gain),
    offset: best.offset,
    residual: best.cost,
    explained: 1 - best.cost / fit.variance,
    samples,
    iterations,
    settled,
    without: withoutGroups(fit, best),
  }
}

const clamp = (search: Search): Search => [
  Math.min(HIGHEST[0], Math.max(LOWEST[0], search[0])),
  Math.min(HIGHEST[1], Math.max(LOWEST[1], search[1])),
  Math.min(HIGHEST[2], Math.max(LOWEST[2], search[2])),
]

/** One step from the fit for each group of samples left out: what the fit would have been without it, nearly. */
function withoutGroups(fit: Trials, at: Trial): SecondOrder[] {
  return Array.from({ length: GROUPS }, (_, left) => {
    const { normal, right } = fit.equations(at, left)
    const step = boundedStep(normal, right, 0, at.search)
    return systemOf(clamp(moved(at.search, step.search)), at.gain + step.gain)
  })
}

interface Step {
  readonly search: Search
  readonly gain: number
}

/** A parameter that stands at its bound and would leave it takes no part. */
function boundedStep(normal: Float64Array, right: Float64Array, damp: number, at: Search): Step {
  const held = [false, false, false]
  for (let attempt = 0; attempt < 3; attempt++) {
    const step = stepFrom(normal, right, damp, held)
    const leaves = step.search.findIndex(
      (value, k) => !held[k] && ((at[k]! <= LOWEST[k]! && value < 0) || (at[k]! >= HIGHEST[k]! && value > 0)),
    )
    if (leaves < 0) return step
    held[leaves] = true
  }
  return { search: [0, 0, 0], gain: 0 }
}

function stepFrom(normal: Float64Array, right: Float64Array, damp: number, held: readonly boolean[]): Step {
  const kept = [0, 1, 2, 3, 4].filter((k) => !held[k])
  const lower = new Float64Array(kept.length ** 2)
  kept.forEach((i, a) =>
    kept.forEach((j, b) => (lower[a * kept.length + b] = b <= a ? normal[i * SIZE + j]! : 0)),
  )
  const solution = solveSymmetric(
    lower,
    Float64Array.from(kept, (k) => right[k]!),
    damp,
  )
  const search: [number, number, number] = [0, 0, 0]
  let gain = 0
  kept.forEach((k, a) => {
    if (k < 3) search[k] = solution[a]! * SHIFTS[k]!
    else if (k === 3) gain = solution[a]!
  })
  return { search, gain }
}
