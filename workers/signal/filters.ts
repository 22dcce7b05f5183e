/**
 * Filters as chains of second-order sections, their responses and delays. Formulas of the digital sections: bilinear
 * transform with the corner pre-warped, as in R. Bristow-Johnson's "Audio EQ Cookbook" (W3C note, 2021).
 */

/** y[n] = b0 x[n] + b1 x[n-1] + b2 x[n-2] - a1 y[n-1] - a2 y[n-2] */
export interface Section {
  readonly b0: number
  readonly b1: number
  readonly b2: number
  readonly a1: number
  readonly a2: number
}

function angle(f_hz: number, quality: number, rate_hz: number) {
  if (!(f_hz > 0 && f_hz < rate_hz / 2)) {
    throw new Error(`filter frequency must lie between 0 and half of ${rate_hz} Hz: ${f_hz}`)
  }
  if (!(quality > 0)) throw new Error(`filter quality must be positive: ${quality}`)
  const w = (2 * Math.PI * f_hz) / rate_hz
  const alpha = Math.sin(w) / (2 * quality)
  return { cos: Math.cos(w), alpha, scale: 1 / (1 + alpha) }
}

/** First-order low-pass, -3 dB at f_hz. */
export function lowPass1(f_hz: number, rate_hz: number): Section {
  angle(f_hz, 1, rate_hz)
  const k = Math.tan((Math.PI * f_hz) / rate_hz)
  const gain = k / (1 + k)
  return { b0: gain, b1: gain, b2: 0, a1: (k - 1) / (k + 1), a2: 0 }
}

/**
 * First-order low-pass in its shortest form: y += share (x - y), share = w / (1 + w) with w = 2 pi f/rate
 * (backward Euler). Its corner lies near f_hz only well below the rate.
 */
export function lowPass1Backward(f_hz: number, rate_hz: number): Section {
  angle(f_hz, 1, rate_hz)
  const w = (2 * Math.PI * f_hz) / rate_hz
  const share = w / (1 + w)
  return { b0: share, b1: 0, b2: 0, a1: share - 1, a2: 0 }
}

/** Second-order low-pass of quality Q (0.7071: Butterworth, -3 dB at f_hz). */
export function lowPass2(f_hz: number, rate_hz: number, quality = Math.SQRT1_2): Section {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  const half = ((1 - cos) / 2) * scale
  return { b0: half, b1: 2 * half, b2: half, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

/** Second-order high-pass of quality Q. */
export function highPass2(f_hz: number, rate_hz: number, quality = Math.SQRT1_2): Section {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  const half = ((1 + cos) / 2) * scale
  return { b0: half, b1: -2 * half, b2: half, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

/** Notch at f_hz, unit gain away from it; Q = centre / width at -3 dB. */
export function notch(f_hz: number, rate_hz: number, quality: number): Section {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  return { b0: scale, b1: -2 * cos * scale, b2: scale, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

/** Band-pass of unit gain at f_hz; Q = centre / width at -3 dB. */
export function bandPass(f_hz: number, rate_hz: number, quality: number): Section {
  const { cos, alpha, scale } = angle(f_hz, quality, rate_hz)
  return { b0: alpha * scale, b1: 0, b2: -alpha * scale, a1: -2 * cos * scale, a2: (1 - alpha) * scale }
}

/** Butterworth low-pass of even order, -3 dB at f_hz: second-order sections with Q = 1 / (2 cos of their pole angles). */
export function butterworthLowPass(order: number, f_hz: number, rate_hz: number): Section[] {
  return butterworthQualities(order).map((quality) => lowPass2(f_hz, rate_hz, quality))
}

/** Butterworth high-pass of even order, -3 dB at f_hz. */
export function butterworthHighPass(order: number, f_hz: number, rate_hz: number): Section[] {
  return butterworthQualities(order).map((quality) => highPass2(f_hz, rate_hz, quality))
}

function butterworthQualities(order: number): number[] {
  if (!(Number.isInteger(order) && order >= 2 && order % 2 === 0))
    throw new Error(`order must be even: ${order}`)
  return Array.from({ length: order / 2 }, (_, k) => 0.5 / Math.cos(((2 * k + 1) * Math.PI) / (2 * order)))
}

/** Response of a chain at f_hz. */
export function responseOf(chain: readonly Section[], f_hz: number, rate_hz: number) {
  const w = (2 * Math.PI * f_hz) / rate_hz
  let re = 1
  let im = 0
  for (const section of chain) {
    const top = polynomial(section.b0, section.b1, section.b2, w)
    const low = polynomial(1, section.a1, section.a2, w)
    const square = low.re ** 2 + low.im ** 2
    const ratioRe = (top.re * low.re + top.im * low.im) / square
    const ratioIm = (top.im * low.re - top.re * low.im) / square
    const product = re * ratioRe - im * ratioIm
    im = re * ratioIm + im * ratioRe
    re = product
  }
  return { re, im, magnitude: Math.hypot(re, im), phase_rad: Math.atan2(im, re) }
}

/** c0 + c1 z^-1 + c2 z^-2 on the unit circle. */
function polynomial(c0: number, c1: number, c2: number, w: number) {
  return {
    re: c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w),
    im: -c1 * Math.sin(w) - c2 * Math.sin(2 * w),
  }
}

/**
 * Group delay of a chain at f_hz: -dphase/domega, from the polynomials' derivatives, exact. A zero on the circle at
 * f_hz itself (a notch's centre) makes it NaN.
 */
export function groupDelay_s(chain: readonly Section[], f_hz: number, rate_hz: number): number {
  const w = (2 * Math.PI * f_hz) / rate_hz
  let samples = 0
  for (const { b0, b1, b2, a1, a2 } of chain) {
    samples += polynomialDelay(b0, b1, b2, w) - polynomialDelay(1, a1, a2, w)
  }
  return samples / rate_hz
}

/** Delay of c0 + c1 z^-1 + c2 z^-2 in samples: Re(sum k c_k z^-k / sum c_k z^-k). */
function polynomialDelay(c0: number, c1: number, c2: number, w: number): number {
  const value = polynomial(c0, c1, c2, w)
  const ramp = polynomial(0, c1, 2 * c2, w)
  const square = value.re ** 2 + value.im ** 2
  return square > 1e-24 ? (ramp.re * value.re + ramp.im * value.im) / square : NaN
}
