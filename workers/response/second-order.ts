/** A second-order system with gain and delay: the parametric picture of a closed rate loop. */
export interface SecondOrder {
  /** Steady gain from setpoint to gyro. */
  readonly gain: number
  /** Natural frequency, rad/s. */
  readonly natural_radps: number
  /** Damping ratio; 1 is critical. */
  readonly damping: number
  readonly delay_s: number
}

/** y[n] = a1 y[n-1] + a2 y[n-2] + c0 u[n] + c1 u[n-1] + c2 u[n-2], exact for an input that runs straight between samples. */
interface Recursion {
  readonly a1: number
  readonly a2: number
  readonly c0: number
  readonly c1: number
  readonly c2: number
}

/**
 * Exact recursion of wn^2/(s^2 + 2 z wn s + wn^2) for straight-line inputs: the exponential of the system's matrix
 * extended by the input and its slope (Van Loan, IEEE Trans. Automatic Control 23(3), 1978 [from memory]) gives the state's
 * step, whose characteristic polynomial is the recursion.
 */
function recursionOf(natural_radps: number, damping: number, step_s: number): Recursion {
  if (last?.natural_radps === natural_radps && last.damping === damping && last.step_s === step_s)
    return last.recursion
  const recursion = newRecursion(natural_radps, damping, step_s)
  last = { natural_radps, damping, step_s, recursion }
  return recursion
}

/** A fit runs the same system over one stretch after the other. */
let last: {
  readonly natural_radps: number
  readonly damping: number
  readonly step_s: number
  readonly recursion: Recursion
} | null = null

function newRecursion(natural_radps: number, damping: number, step_s: number): Recursion {
  const w = natural_radps * step_s
  // States: position, speed / wn, input, change of the input over the step.
  const e = exponential4([0, w, 0, 0, -w, -2 * damping * w, w, 0, 0, 0, 0, 1, 0, 0, 0, 0])
  const [p00, p01, p10, p11] = [e[0]!, e[1]!, e[4]!, e[5]!]
  // What the input before and after the step add to position and speed.
  const [before0, after0] = [e[2]! - e[3]!, e[3]!]
  const [before1, after1] = [e[6]! - e[7]!, e[7]!]
  return {
    a1: p00 + p11,
    a2: p01 * p10 - p00 * p11,
    c0: after0,
    c1: before0 - p11 * after0 + p01 * after1,
    c2: p01 * before1 - p11 * before0,
  }
}

/** Exponential of a 4 x 4 matrix by scaling, Taylor's series and squaring. A fit asks for it at every trial. */
function exponential4(matrix: readonly number[]): Float64Array {
  const norm = Math.max(...matrix.map(Math.abs)) * 4
  const halvings = Math.max(0, Math.ceil(Math.log2(norm / 0.25)))
  const scaled = Float64Array.from(matrix, (value) => value / 2 ** halvings)
  let sum = new Float64Array(16)
  let term = new Float64Array(16)
  for (let k = 0; k < 16; k += 5) sum[k] = term[k] = 1
  let next = new Float64Array(16)
  for (let k = 1; k <= 14; k++) {
    product4(term, scaled, next)
    for (let index = 0; index < 16; index++) {
      next[index]! /= k
      sum[index]! += next[index]!
    }
    ;[term, next] = [next, term]
  }
  for (let k = 0; k < halvings; k++) {
    product4(sum, sum, next)
    ;[sum, next] = [next, sum]
  }
  return sum
}

/** Writes a b into `into`, which must be neither. */
function product4(a: Float64Array, b: Float64Array, into: Float64Array): void {
  for (let row = 0; row < 16; row += 4)
    for (let column = 0; column < 4; column++)
      into[row + column] =
        a[row]! * b[column]! +
        a[row + 1]! * b[column + 4]! +
        a[row + 2]! * b[column + 8]! +
        a[row + 3]! * b[column + 12]!
}

/** y[n] = a1 y[n-1] + a2 y[n-2] + sum over k of taps[k] u[n - whole - k], gain and delay included. */
export interface DelayedRecursion {
  readonly a1: number
  readonly a2: number
  readonly whole: number
  readonly taps: readonly [number, number, number, number]
}

/** The system as a recursion at a sample rate, exact for an input that runs straight between samples. */
export function recursionAt(system: SecondOrder, rate_hz: number): DelayedRecursion {
  const { gain, natural_radps, damping, delay_s } = system
  const { a1, a2, c0, c1, c2 } = recursionOf(natural_radps, damping, 1 / rate_hz)
  const delay = delay_s * rate_hz
  const whole = Math.floor(delay)
  const part = delay - whole
  // The delay's part of a sample, straight between two, and the recursion's side of the input as one.
  return {
    ...{ a1, a2, whole },
    taps: [
      gain * (1 - part) * c0,
      gain * (part * c0 + (1 - part) * c1),
      gain * (part * c1 + (1 - part) * c2),
      gain * part * c2,
    ],
  }
}

/**
 * The system's answer to `input` over [start, end), written into `output` at the same indices. The input runs straight
 * between samples and stood at its first value before `start`. No NaN may lie inside.
 */
export function simulateSecondOrder(
  system: SecondOrder,
  input: Float64Array,
  rate_hz: number,
  output: Float64Array,
  start = 0,
  end = input.length,
): void {
  const { a1, a2, whole, taps } = recursionAt(system, rate_hz)
  const [g0, g1, g2, g3] = taps
  const first = input[start]!
  const rest = system.gain * first
  let y1 = rest
  let y2 = rest
  const ready = Math.min(end, start + whole + 3)
  const at = (n: number) => (n < start ? first : input[n]!)
  for (let n = start; n < ready; n++) {
    const from = n - whole
    const y = g0 * at(from) + g1 * at(from - 1) + g2 * at(from - 2) + g3 * at(from - 3) + a2 * y2 + a1 * y1
    y2 = y1
    y1 = y
    output[n] = y
  }
  for (let n = ready; n < end; n++) {
    const from = n - whole
    const y =
      g0 * input[from]! +
      g1 * input[from - 1]! +
      g2 * input[from - 2]! +
      g3 * input[from - 3]! +
      a2 * y2 +
      a1 * y1
    y2 = y1
    y1 = y
    output[n] = y
  }
}

/** The system's answer to a unit step at time 0, at the times n / rate_hz; closed form. */
export function secondOrderStep(system: SecondOrder, rate_hz: number, length: number): Float64Array {
  const step = new Float64Array(length)
  for (let n = 0; n < length; n++) step[n] = stepAt(system, n / rate_hz - system.delay_s)
  return step
}

/** At t seconds after the delay. */
function stepAt({ gain, natural_radps: w, damping: z }: SecondOrder, t: number): number {
  if (t <= 0) return 0
  if (z < 1) {
    const wd = w * Math.sqrt(1 - z * z)
    return gain * (1 - Math.exp(-z * w * t) * (Math.cos(wd * t) + ((z * w) / wd) * Math.sin(wd * t)))
  }
  if (z - 1 < 1e-6) return gain * (1 - Math.exp(-w * t) * (1 + w * t))
  const root = Math.sqrt(z * z - 1)
  const fast = w * (z + root)
  const slow = w * (z - root)
  return gain * (1 - (fast * Math.exp(-slow * t) - slow * Math.exp(-fast * t)) / (fast - slow))
}

/** The system's frequency response at f_hz. */
export function secondOrderResponse(system: SecondOrder, f_hz: number): { re: number; im: number } {
  const { gain, natural_radps: wn, damping, delay_s } = system
  const w = 2 * Math.PI * f_hz
  const real = 1 - (w / wn) ** 2
  const imaginary = (2 * damping * w) / wn
  const square = real * real + imaginary * imaginary
  const re = (gain * real) / square
  const im = (-gain * imaginary) / square
  const c = Math.cos(w * delay_s)
  const s = -Math.sin(w * delay_s)
  return { re: re * c - im * s, im: re * s + im * c }
}
