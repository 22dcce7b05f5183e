/** Digital filters of the rate loop and of the shaped noises: coefficients, one-sample steps, responses. */

/** y = b0 x + b1 x[-1] + b2 x[-2] - a1 y[-1] - a2 y[-2] */
export interface Coefficients {
  readonly b0: number
  readonly b1: number
  readonly b2: number
  readonly a1: number
  readonly a2: number
}

/** First-order low-pass, corner `f_hz` (-3 dB), bilinear transform with the corner pre-warped. */
export function lowPass1(f_hz: number, rate_hz: number): Coefficients {
  const k = Math.tan((Math.PI * f_hz) / rate_hz)
  const gain = k / (1 + k)
  return { b0: gain, b1: gain, b2: 0, a1: (k - 1) / (k + 1), a2: 0 }
}

/** Second-order low-pass; formulas of R. Bristow-Johnson's "Audio EQ Cookbook" (W3C note, 2021). */
export function lowPass2(f_hz: number, quality: number, rate_hz: number): Coefficients {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  const half = ((1 - cos) / 2) * scale
  return { b0: half, b1: 2 * half, b2: half, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

/** Notch of unit gain away from its centre; same source. */
export function notch(f_hz: number, quality: number, rate_hz: number): Coefficients {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  return { b0: scale, b1: -2 * cos * scale, b2: scale, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

/** Band-pass of unit gain at its centre; same source. */
export function bandPass(f_hz: number, quality: number, rate_hz: number): Coefficients {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  return { b0: alpha * scale, b1: 0, b2: -alpha * scale, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

function angle(f_hz: number, quality: number, rate_hz: number) {
  const w = (2 * Math.PI * f_hz) / rate_hz
  const alpha = Math.sin(w) / (2 * quality)
  return { cos: Math.cos(w), alpha, scale: 1 / (1 + alpha) }
}

/** One filter with its memory (transposed direct form II), starting from rest. */
export class Filter {
  private readonly b0: number
  private readonly b1: number
  private readonly b2: number
  private readonly a1: number
  private readonly a2: number
  // Typed memory: a plain field would be boxed again at every store.
  private readonly memory = new Float64Array(2)

  constructor(coefficients: Coefficients) {
    this.b0 = coefficients.b0
    this.b1 = coefficients.b1
    this.b2 = coefficients.b2
    this.a1 = coefficients.a1
    this.a2 = coefficients.a2
  }

  step(x: number): number {
    const m = this.memory
    const y = this.b0 * x + m[0]!
    m[0] = this.b1 * x - this.a1 * y + m[1]!
    m[1] = this.b2 * x - this.a2 * y
    return y
  }
}

/** Complex response at `f_hz`: [real, imaginary]. */
export function responseAt(c: Coefficients, f_hz: number, rate_hz: number): [number, number] {
  const w = (2 * Math.PI * f_hz) / rate_hz
  const c1 = Math.cos(w)
  const s1 = -Math.sin(w)
  const c2 = Math.cos(2 * w)
  const s2 = -Math.sin(2 * w)
  const topRe = c.b0 + c.b1 * c1 + c.b2 * c2
  const topIm = c.b1 * s1 + c.b2 * s2
  const lowRe = 1 + c.a1 * c1 + c.a2 * c2
  const lowIm = c.a1 * s1 + c.a2 * s2
  const square = lowRe * lowRe + lowIm * lowIm
  return [(topRe * lowRe + topIm * lowIm) / square, (topIm * lowRe - topRe * lowIm) / square]
}
