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

/** State step of wn^2/(s^2 + 2 z wn s + wn^2) over T with an input that runs straight from u0 to u1. */
interface StateStep {
  readonly p00: number
  readonly p01: number
  readonly p10: number
  readonly p11: number
  /** What u0 and u1 add to position and speed. */
  readonly before0: number
  readonly before1: number
  readonly after0: number
  readonly after1: number
}

/**
 * Exact step for a straight-line input, by the exponential of the system's matrix extended by the input and its
 * slope (Van Loan, IEEE Trans. Automatic Control 23(3), 1978 [from memory]).
 */
function stateStep(natural_radps: number, damping: number, step_s: number): StateStep {
  const w = natural_radps * step_s
  // States: position, speed / wn, input, change of the input over the step.
  const matrix = [0, w, 0, 0, -w, -2 * damping * w, w, 0, 0, 0, 0, 1, 0, 0, 0, 0]
  const e = exponential4(matrix)
  return {
    p00: e[0]!,
    p01: e[1]!,
    p10: e[4]!,
    p11: e[5]!,
    before0: e[2]! - e[3]!,
    before1: e[6]! - e[7]!,
    after0: e[3]!,
    after1: e[7]!,
  }
}

/** Exponential of a 4 x 4 matrix by scaling, Taylor's series and squaring. */
function exponential4(matrix: readonly number[]): number[] {
  const norm = Math.max(...matrix.map(Math.abs)) * 4
  const halvings = Math.max(0, Math.ceil(Math.log2(norm / 0.25)))
  const scaled = matrix.map((value) => value / 2 ** halvings)
  const identity: number[] = matrix.map((_, index) => (index % 5 === 0 ? 1 : 0))
  let sum: number[] = identity
  let term: number[] = identity
  for (let k = 1; k <= 14; k++) {
    term = product4(term, scaled).map((value) => value / k)
    sum = sum.map((value, index) => value + term[index]!)
  }
  for (let k = 0; k < halvings; k++) sum = product4(sum, sum)
  return sum
}

function product4(a: readonly number[], b: readonly number[]): number[] {
  return a.map((_, index) => {
    const row = index & ~3
    const column = index & 3
    return (
      a[row]! * b[column]! +
      a[row + 1]! * b[column + 4]! +
      a[row + 2]! * b[column + 8]! +
      a[row + 3]! * b[column + 12]!
    )
  })
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
  const { p00, p01, p10, p11, before0, before1, after0, after1 } = stateStep(
    system.natural_radps,
    system.damping,
    1 / rate_hz,
  )
  delayed(input, system.delay_s * rate_hz, output, start, end)
  const gain = system.gain
  let before = output[start]!
  let position = before
  let speed = 0
  output[start] = gain * position
  for (let n = start + 1; n < end; n++) {
    const now = output[n]!
    const next = p00 * position + p01 * speed + before0 * before + after0 * now
    speed = p10 * position + p11 * speed + before1 * before + after1 * now
    position = next
    before = now
    output[n] = gain * position
  }
}

/** The input later by a number of samples, straight between them; its first value stands before `start`. */
function delayed(input: Float64Array, delay: number, output: Float64Array, start: number, end: number): void {
  const whole = Math.floor(delay)
  const part = delay - whole
  const rest = input[start]!
  const ready = Math.min(end, start + whole + 1)
  for (let n = start; n < ready; n++) output[n] = rest
  for (let n = ready; n < end; n++) output[n] = (1 - part) * input[n - whole]! + part * input[n - whole - 1]!
}

/** The system's answer to a unit step at time 0, at the times n / rate_hz; closed form. */
export function secondOrderStep(system: SecondOrder, rate_hz: number, length: number): Float64Array {
  const { gain, natural_radps: w, damping: z, delay_s } = system
  return Float64Array.from({ length }, (_, n) => {
    const t = n / rate_hz - delay_s
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
  })
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
