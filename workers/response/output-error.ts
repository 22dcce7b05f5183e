import type { Run } from '../signal/segments.ts'
import { simulateSecondOrder, type SecondOrder } from './second-order.ts'

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
/** Parts of the flight that are left out in turn for the sampling error. */
export const GROUPS = 12

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

/** Log of the natural frequency, log of the damping, delay in ms: steps of like size in each. */
type Search = readonly [number, number, number]

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
  const trial = trialOf(setpoint, gyro, rate_hz, usable, settling)
  const starts = [4, 9, 20].map((f): Search => [Math.log(2 * Math.PI * f), Math.log(0.7), 5])
  let best = starts
    .map((search) => ({ search, cost: trial.run(search).cost }))
    .reduce((a, b) => (b.cost < a.cost ? b : a))
  let damp = 1e-3
  let iterations = 0
  let settled = false
  while (iterations < MOST_ITERATIONS && !settled) {
    iterations++
    const step = gaussNewton(trial, best.search)
    let improved = false
    for (let attempt = 0; attempt < 8 && !improved; attempt++) {
      const next = clamp(moved(best.search, step(damp)))
      const cost = trial.run(next).cost
      if (cost < best.cost) {
        settled = best.cost - cost < 1e-5 * best.cost
        best = { search: next, cost }
        damp = Math.max(1e-9, damp / 5)
        improved = true
      } else damp *= 6
    }
    if (!improved) settled = true
  }
  const { gain, offset, cost, variance } = trial.run(best.search)
  return {
    system: systemOf(best.search, gain),
    offset,
    residual: cost,
    explained: 1 - cost / variance,
    samples,
    iterations,
    settled,
    without: withoutGroups(trial, best.search),
  }
}

const systemOf = ([frequency, damping, delay_ms]: Search, gain: number): SecondOrder => ({
  gain,
  natural_radps: Math.exp(frequency),
  damping: Math.exp(damping),
  delay_s: delay_ms / 1000,
})

const clamp = (search: Search): Search => [
  Math.min(HIGHEST[0], Math.max(LOWEST[0], search[0])),
  Math.min(HIGHEST[1], Math.max(LOWEST[1], search[1])),
  Math.min(HIGHEST[2], Math.max(LOWEST[2], search[2])),
]

const moved = (search: Search, step: Search): Search => [
  search[0] + step[0],
  search[1] + step[1],
  search[2] + step[2],
]

/** By how much each parameter is moved to see what it does. */
const SHIFTS = [0.01, 0.02, 0.2]
/** The three and gain and offset. */
const SIZE = 5

interface Trial {
  readonly cost: number
  readonly gain: number
  readonly offset: number
  readonly variance: number
}

function trialOf(
  setpoint: Float64Array,
  gyro: Float64Array,
  rate_hz: number,
  runs: readonly Run[],
  settling: number,
) {
  const buffers = Array.from({ length: SIZE - 1 }, () => new Float64Array(setpoint.length))
  let count = 0
  let sumY = 0
  let squaresY = 0
  for (const stretch of runs) {
    for (let n = stretch.start + settling; n < stretch.end; n++) {
      count++
      sumY += gyro[n]!
    }
  }
  const meanY = sumY / count
  for (const stretch of runs) {
    for (let n = stretch.start + settling; n < stretch.end; n++) squaresY += (gyro[n]! - meanY) ** 2
  }
  const simulate = (search: Search, into: Float64Array): void => {
    const system = systemOf(search, 1)
    for (const { start, end } of runs) simulateSecondOrder(system, setpoint, rate_hz, into, start, end)
  }
  const run = (search: Search): Trial => {
    const into = buffers[0]!
    simulate(search, into)
    let sum = 0
    let squares = 0
    let product = 0
    for (const { start, end } of runs) {
      const own = sumsWith(into, gyro, meanY, start + settling, end)
      sum += own.sum
      squares += own.squares
      product += own.product
    }
    const spread = squares - (sum * sum) / count
    const gain = spread > 0 ? product / spread : 0
    return {
      cost: Math.max(0, squaresY - gain * product) / count,
      gain,
      offset: meanY - (gain * sum) / count,
      variance: squaresY / count,
    }
  }
  const stretches = runs.map(({ start, end }) => ({ start: start + settling, end }))
  return { run, simulate, gyro, stretches, buffers }
}

/** Sums of x, x^2 and x (y - meanY). A small function of its own: engines make a fast one of it sooner. */
function sumsWith(x: Float64Array, y: Float64Array, meanY: number, start: number, end: number) {
  let [sum, squares, product] = [0, 0, 0]
  for (let n = start; n < end; n++) {
    const value = x[n]!
    sum += value
    squares += value * value
    product += value * (y[n]! - meanY)
  }
  return { sum, squares, product }
}

/** Fills the trial's buffers with the answer at a point and next to it along each of the three parameters. */
function sensitivities(trial: ReturnType<typeof trialOf>, at: Search): Trial {
  SHIFTS.forEach((size, index) => {
    const shift: [number, number, number] = [0, 0, 0]
    shift[index] = size
    trial.simulate(moved(at, shift), trial.buffers[index + 1]!)
  })
  return trial.run(at)
}

/** The damped step at a point. */
function gaussNewton(trial: ReturnType<typeof trialOf>, at: Search): (damp: number) => Search {
  const here = sensitivities(trial, at)
  const { normal, right } = normalEquations(trial, here, trial.stretches)
  return (damp) => boundedStep(normal, right, damp, at).search
}

/** One step from the fit for each group of stretches left out: what the fit would have been without it, nearly. */
function withoutGroups(trial: ReturnType<typeof trialOf>, at: Search): SecondOrder[] {
  const here = sensitivities(trial, at)
  const total = trial.stretches.reduce((sum, { start, end }) => sum + end - start, 0)
  const bound = (group: number) => Math.round((group * total) / GROUPS)
  const parts = Array.from({ length: GROUPS }, (_, group) =>
    normalEquations(trial, here, cut(trial.stretches, bound(group), bound(group + 1))),
  )
  const sumWithout = (pick: (part: (typeof parts)[number]) => Float64Array, left: number) =>
    pick(parts[0]!).map((_, k) =>
      parts.reduce((sum, part, group) => (group === left ? sum : sum + pick(part)[k]!), 0),
    )
  return parts.map((_, left) => {
    const normal = sumWithout((part) => part.normal, left)
    const right = sumWithout((part) => part.right, left)
    const step = boundedStep(normal, right, 0, at)
    return systemOf(clamp(moved(at, step.search)), here.gain + step.gain)
  })
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

/**
 * Sums of products of the five columns - three sensitivities, gain and offset, which are free as well - and of each
 * with the residual. Written out: this is where a fit spends its time.
 */
function normalEquations(
  trial: ReturnType<typeof trialOf>,
  { gain, offset }: Trial,
  stretches: readonly Run[],
) {
  const [x, s0, s1, s2] = trial.buffers as [Float64Array, Float64Array, Float64Array, Float64Array]
  const { gyro } = trial
  let count = 0
  let [aa, ab, ac, ax, a1] = [0, 0, 0, 0, 0]
  let [bb, bc, bx, b1] = [0, 0, 0, 0]
  let [cc, cx, c1] = [0, 0, 0]
  let [xx, x1] = [0, 0]
  let [ra, rb, rc, rx, r1] = [0, 0, 0, 0, 0]
  for (const { start, end } of stretches) {
    for (let n = start; n < end; n++) {
      const at = x[n]!
      const a = gain * (s0[n]! - at)
      const b = gain * (s1[n]! - at)
      const c = gain * (s2[n]! - at)
      const residual = gyro[n]! - offset - gain * at
      count++
      aa += a * a
      ab += a * b
      ac += a * c
      ax += a * at
      a1 += a
      bb += b * b
      bc += b * c
      bx += b * at
      b1 += b
      cc += c * c
      cx += c * at
      c1 += c
      xx += at * at
      x1 += at
      ra += a * residual
      rb += b * residual
      rc += c * residual
      rx += at * residual
      r1 += residual
    }
  }
  const normal = Float64Array.of(
    ...[aa, 0, 0, 0, 0],
    ...[ab, bb, 0, 0, 0],
    ...[ac, bc, cc, 0, 0],
    ...[ax, bx, cx, xx, 0],
    ...[a1, b1, c1, x1, count],
  )
  return { normal, right: Float64Array.of(ra, rb, rc, rx, r1) }
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

/** Solves (N + damp diag N) x = r by Cholesky; N given by its lower triangle. Zero where N has no pivot. */
export function solveSymmetric(lower: Float64Array, right: Float64Array, damp = 0): Float64Array {
  const size = right.length
  const factor = new Float64Array(size * size)
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = lower[i * size + j]! * (i === j ? 1 + damp : 1)
      for (let k = 0; k < j; k++) sum -= factor[i * size + k]! * factor[j * size + k]!
      if (i === j) factor[i * size + i] = Math.sqrt(Math.max(sum, 1e-14 * lower[i * size + i]!))
      else factor[i * size + j] = factor[j * size + j]! > 0 ? sum / factor[j * size + j]! : 0
    }
  }
  const solution = Float64Array.from(right)
  for (let i = 0; i < size; i++) {
    for (let k = 0; k < i; k++) solution[i]! -= factor[i * size + k]! * solution[k]!
    solution[i] = factor[i * size + i]! > 0 ? solution[i]! / factor[i * size + i]! : 0
  }
  for (let i = size - 1; i >= 0; i--) {
    for (let k = i + 1; k < size; k++) solution[i]! -= factor[k * size + i]! * solution[k]!
    solution[i] = factor[i * size + i]! > 0 ? solution[i]! / factor[i * size + i]! : 0
  }
  return solution
}
