/**
 * What is left after a stop: y(t) = A e^(-s t) cos(w t + phi) + B e^(-t/T), one part or both or none. The amplitudes are
 * solved for at each step (variable projection, Golub & Pereyra 1973 [from memory]); decay, frequency and T are searched for
 * from several starts. Which parts there are is decided by BIC.
 */
export interface RingFit {
  readonly shape: 'none' | 'ring' | 'slow' | 'ring and slow'
  readonly ring: Ring | null
  readonly slow: Recovery | null
  readonly residualSquares: number
  /** 1 - residual / sum of squares of the data. */
  readonly explained: number
  /** n ln(RSS/n) + k ln n of all four, lowest is best. */
  readonly bic: Readonly<Record<RingFit['shape'], number>>
  readonly curve: Float64Array
}

export interface Ring {
  readonly amplitude: number
  /** Of A cos(w t + phi), rad. */
  readonly phase_rad: number
  /** Damped frequency w / 2 pi, Hz: what is seen. */
  readonly frequency_hz: number
  /** zeta = s / sqrt(s^2 + w^2). */
  readonly dampingRatio: number
  readonly decay_ps: number
}

export interface Recovery {
  readonly amplitude: number
  readonly time_s: number
}

/** A ring below 3 Hz is no ring but a slow recovery. */
export const RING_HZ = [3, 45] as const
const SLOW_S = [0.03, 2] as const
const MOST_ITERATIONS = 30

type Shape = Exclude<RingFit['shape'], 'none'>

/** Logs of decay and frequency, and of T: as many as the shape has. */
interface Search {
  readonly shape: Shape
  readonly at: readonly number[]
}

/** Fits data that starts at the stop (t = 0) and has a value every 1/rate_hz. Needs 12 values; NaN is an error. */
export function fitRing(data: ArrayLike<number>, rate_hz: number): RingFit {
  const count = data.length
  if (count < 12) throw new Error(`a ring needs 12 values: ${count}`)
  const y = Float64Array.from(data)
  if (y.some((value) => !Number.isFinite(value))) throw new Error('a ring is fitted to finite values')
  const whole = squares(y)
  const project = projection(y, rate_hz)
  const most_hz = Math.min(RING_HZ[1], 0.4 * rate_hz)
  const rings = [4, 6.5, 10, 15, 22, 32]
    .filter((f_hz) => f_hz < most_hz)
    .flatMap((f_hz) => [0.12, 0.45].map((zeta) => [Math.log(2 * Math.PI * f_hz * zeta), Math.log(f_hz)]))
  const slows = [0.06, 0.18, 0.6].map((time_s) => [Math.log(time_s)])
  const limits = { most_hz, shortest_s: 2 / rate_hz }
  const ring = best(project, y, 'ring', rings, limits)
  const slow = best(project, y, 'slow', slows, limits)
  const bothStarts = [...rings.flatMap((a) => slows.map((b) => [...a, ...b])), [...ring.at, ...slow.at]]
  const both = best(project, y, 'ring and slow', bothStarts, limits)
  const bicOf = (residual: number, parameters: number) =>
    count * Math.log(Math.max(residual, 1e-12 * whole, 1e-300) / count) + parameters * Math.log(count)
  const bic = {
    none: bicOf(whole, 0),
    ring: bicOf(ring.cost, 4),
    slow: bicOf(slow.cost, 2),
    'ring and slow': bicOf(both.cost, 6),
  }
  const shape = (Object.keys(bic) as RingFit['shape'][]).reduce((a, b) => (bic[b] < bic[a] ? b : a))
  if (shape === 'none' || !(whole > 0)) {
    const curve = new Float64Array(count)
    return { shape: 'none', ring: null, slow: null, residualSquares: whole, explained: 0, bic, curve }
  }
  const chosen = shape === 'ring' ? ring : shape === 'slow' ? slow : both
  const { amplitudes, curve, cost } = project(chosen)
  const hasRing = shape !== 'slow'
  const decay_ps = Math.exp(chosen.at[0]!)
  const frequency_hz = Math.exp(chosen.at[1]!)
  const w = 2 * Math.PI * frequency_hz
  return {
    shape,
    ring: hasRing
      ? {
          amplitude: Math.hypot(amplitudes[0]!, amplitudes[1]!),
          // c cos + q sin = A cos(w t + phi) with c = A cos phi, q = -A sin phi.
          phase_rad: Math.atan2(-amplitudes[1]!, amplitudes[0]!),
          frequency_hz,
          dampingRatio: decay_ps / Math.hypot(decay_ps, w),
          decay_ps,
        }
      : null,
    slow: shape === 'ring' ? null : { amplitude: amplitudes.at(-1)!, time_s: Math.exp(chosen.at.at(-1)!) },
    residualSquares: cost,
    explained: 1 - cost / whole,
    bic,
    curve: curve.slice(),
  }
}

interface Projected {
  readonly cost: number
  readonly amplitudes: readonly number[]
  /** Reused from call to call. */
  readonly curve: Float64Array
}

/** Solves for the amplitudes of a shape at given decay, frequency and T. */
function projection(y: Float64Array, rate_hz: number): (search: Search) => Projected {
  const count = y.length
  const columns = [new Float64Array(count), new Float64Array(count), new Float64Array(count)]
  const curve = new Float64Array(count)
  return ({ shape, at }) => {
    const used: Float64Array[] = []
    if (shape !== 'slow') {
      // e^(-s t) times cosine and sine by turning a phasor: two transcendental calls instead of two a sample.
      const decay = Math.exp(-Math.exp(at[0]!) / rate_hz)
      const angle = (2 * Math.PI * Math.exp(at[1]!)) / rate_hz
      const turnRe = decay * Math.cos(angle)
      const turnIm = decay * Math.sin(angle)
      let re = 1
      let im = 0
      const [cosine, sine] = columns
      for (let n = 0; n < count; n++) {
        cosine![n] = re
        sine![n] = im
        const next = re * turnRe - im * turnIm
        im = re * turnIm + im * turnRe
        re = next
      }
      used.push(cosine!, sine!)
    }
    if (shape !== 'ring') {
      const keep = Math.exp(-1 / (Math.exp(at.at(-1)!) * rate_hz))
      let value = 1
      const column = columns[2]!
      for (let n = 0; n < count; n++) {
        column[n] = value
        value *= keep
      }
      used.push(column)
    }
    const amplitudes = solveSmall(used, y)
    let cost = 0
    for (let n = 0; n < count; n++) {
      let value = 0
      for (let k = 0; k < used.length; k++) value += amplitudes[k]! * used[k]![n]!
      curve[n] = value
      cost += (y[n]! - value) ** 2
    }
    return { cost, amplitudes, curve }
  }
}

/** Least squares of up to three columns by their normal equations (they are far from parallel); a dependent one gets 0. */
function solveSmall(columns: readonly Float64Array[], y: Float64Array): number[] {
  const normal = columns.map((a) => columns.map((b) => dot(a, b)))
  const right = columns.map((column) => dot(column, y))
  const size = columns.length
  for (let k = 0; k < size; k++) {
    const pivot = normal[k]![k]!
    for (let i = k + 1; i < size; i++) {
      const factor = pivot > 0 ? normal[i]![k]! / pivot : 0
      const whole = normal[i]![i]!
      for (let j = k; j < size; j++) normal[i]![j]! -= factor * normal[k]![j]!
      right[i]! -= factor * right[k]!
      if (!(normal[i]![i]! > 1e-11 * whole)) normal[i]![i] = 0
    }
  }
  const solution = new Array<number>(size).fill(0)
  for (let k = size - 1; k >= 0; k--) {
    let sum = right[k]!
    for (let j = k + 1; j < size; j++) sum -= normal[k]![j]! * solution[j]!
    solution[k] = normal[k]![k]! > 0 ? sum / normal[k]![k]! : 0
  }
  return solution
}

interface Found extends Search {
  readonly cost: number
}

interface Limits {
  readonly most_hz: number
  readonly shortest_s: number
}

/** The three most promising starts, each followed to its bottom. */
function best(
  project: (search: Search) => Projected,
  y: Float64Array,
  shape: Shape,
  starts: readonly (readonly number[])[],
  limits: Limits,
): Found {
  return starts
    .map((at) => ({ shape, at, cost: project({ shape, at }).cost }))
    .sort((a, b) => a.cost - b.cost)
    .slice(0, 3)
    .map((start) => descend(project, y, start, limits))
    .reduce((a, b) => (b.cost < a.cost ? b : a))
}

/** Damped Gauss-Newton on the projected residual, in logs, held inside the limits. */
function descend(
  project: (search: Search) => Projected,
  y: Float64Array,
  start: Found,
  limits: Limits,
): Found {
  const { shape } = start
  const size = start.at.length
  const inside = (at: readonly number[]) => at.map((value, k) => clampTo(value, rangeOf(shape, k, limits)))
  let found = start
  let damp = 1e-2
  for (let iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
    const base = project(found).curve.slice()
    const count = base.length
    const slopes = found.at.map((value, k) => {
      const moved = found.at.map((other, j) => (j === k ? value + 1e-4 : other))
      const curve = project({ shape, at: moved }).curve
      return Float64Array.from({ length: count }, (_, n) => (curve[n]! - base[n]!) / 1e-4)
    })
    const normal = slopes.map((a) => slopes.map((b) => dot(a, b)))
    const residual = base.map((value, n) => y[n]! - value)
    const gradient = slopes.map((slope) => dot(slope, residual))
    let improved = false
    let gain = 0
    for (let attempt = 0; attempt < 8 && !improved; attempt++) {
      const step = solveDamped(normal, gradient, damp, size)
      const at = inside(found.at.map((value, k) => value + Math.max(-0.7, Math.min(0.7, step[k]!))))
      const cost = project({ shape, at }).cost
      if (cost < found.cost) {
        gain = (found.cost - cost) / found.cost
        found = { shape, at, cost }
        damp = Math.max(1e-9, damp / 6)
        improved = true
      } else damp *= 8
    }
    if (!improved || gain < 1e-7) break
  }
  return found
}

function rangeOf(shape: Shape, index: number, { most_hz, shortest_s }: Limits): readonly [number, number] {
  const isSlow = shape === 'slow' || index === 2
  if (isSlow) return [Math.log(Math.max(SLOW_S[0], shortest_s)), Math.log(SLOW_S[1])]
  // Decay: from hardly any to what is over within two samples.
  return index === 0 ? [Math.log(0.2), Math.log(1 / shortest_s)] : [Math.log(RING_HZ[0]), Math.log(most_hz)]
}

const clampTo = (value: number, [low, high]: readonly [number, number]) =>
  Math.min(high, Math.max(low, value))

function solveDamped(normal: number[][], gradient: number[], damp: number, size: number): number[] {
  const matrix = normal.map((row, k) => [
    ...row.map((value, j) => (j === k ? value * (1 + damp) + 1e-12 : value)),
    gradient[k]!,
  ])
  for (let k = 0; k < size; k++) {
    const pivot = matrix[k]![k]!
    for (let i = k + 1; i < size; i++) {
      const factor = matrix[i]![k]! / pivot
      for (let j = k; j <= size; j++) matrix[i]![j]! -= factor * matrix[k]![j]!
    }
  }
  const solution = new Array<number>(size).fill(0)
  for (let k = size - 1; k >= 0; k--) {
    let sum = matrix[k]![size]!
    for (let j = k + 1; j < size; j++) sum -= matrix[k]![j]! * solution[j]!
    solution[k] = sum / matrix[k]![k]!
  }
  return solution
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let n = 0; n < a.length; n++) sum += a[n]! * b[n]!
  return sum
}

const squares = (values: Float64Array) => dot(values, values)
