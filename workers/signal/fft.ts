/**
 * Fourier transforms of any length in double precision, without normalisation on the way forward:
 * X[k] = sum over n of x[n] e^(-2 pi i k n / N). Powers of two by Stockham's self-sorting radix 4,
 * other lengths by Bluestein's chirp (Bluestein, IEEE Trans. Audio Electroacoust. 18, 1970).
 * A plan owns its work space, so one plan is not to be used inside itself; plans are kept by length.
 */

const complexPlans = new Map<number, ComplexFft>()
const realPlans = new Map<number, RealFft>()

export interface ComplexFft {
  readonly size: number
  /** In place. NaN anywhere makes every bin NaN. */
  forward(re: Float64Array, im: Float64Array): void
  /** In place and divided by the size: the exact counterpart of `forward`. */
  inverse(re: Float64Array, im: Float64Array): void
}

export interface RealFft {
  readonly size: number
  /** floor(size / 2) + 1: the bins from 0 to half the sample rate. */
  readonly bins: number
  /** input: `size` samples; re, im: `bins` values each. NaN anywhere makes every bin NaN. */
  forward(input: ArrayLike<number>, re: Float64Array, im: Float64Array): void
  /** Divided by the size: gives back what `forward` took. re and im are left as they were. */
  inverse(re: Float64Array, im: Float64Array, output: Float64Array): void
}

/** The smallest power of two that is not below `size`. */
export function nextPowerOfTwo(size: number): number {
  let power = 1
  while (power < size) power *= 2
  return power
}

const isPowerOfTwo = (size: number): boolean => nextPowerOfTwo(size) === size

function checkSize(size: number): void {
  if (!Number.isInteger(size) || size < 1)
    throw new Error(`transform length must be a positive integer: ${size}`)
}

/** The plan for complex transforms of this length (1 and up). */
export function complexFft(size: number): ComplexFft {
  checkSize(size)
  let plan = complexPlans.get(size)
  if (!plan) {
    plan = isPowerOfTwo(size) ? planPowerOfTwo(size) : planAnyLength(size)
    complexPlans.set(size, plan)
  }
  return plan
}

/** The plan for transforms of real series of this length (1 and up). */
export function realFft(size: number): RealFft {
  checkSize(size)
  let plan = realPlans.get(size)
  if (!plan) {
    plan = size % 2 === 0 ? planRealEven(size) : planRealOdd(size)
    realPlans.set(size, plan)
  }
  return plan
}

/** An inverse transform is a forward one with real and imaginary parts exchanged. */
function withInverse(size: number, forward: ComplexFft['forward']): ComplexFft {
  return {
    size,
    forward(re, im) {
      if (re.length !== size || im.length !== size) {
        throw new Error(`transform of length ${size} was given ${re.length} and ${im.length} values`)
      }
      forward(re, im)
    },
    inverse(re, im) {
      this.forward(im, re)
      for (let k = 0; k < size; k++) {
        re[k]! /= size
        im[k]! /= size
      }
    },
  }
}

function planPowerOfTwo(size: number): ComplexFft {
  const cos = new Float64Array(size)
  const sin = new Float64Array(size)
  for (let k = 0; k < size; k++) {
    cos[k] = Math.cos((2 * Math.PI * k) / size)
    sin[k] = -Math.sin((2 * Math.PI * k) / size)
  }
  const workRe = new Float64Array(size)
  const workIm = new Float64Array(size)
  return withInverse(size, (re, im) => {
    let fromRe: Float64Array = re
    let fromIm: Float64Array = im
    let toRe: Float64Array = workRe
    let toIm: Float64Array = workIm
    let stride = 1
    for (let n = size; n >= 4; n /= 4, stride *= 4) {
      radix4(fromRe, fromIm, toRe, toIm, n, stride, cos, sin)
      ;[fromRe, toRe] = [toRe, fromRe]
      ;[fromIm, toIm] = [toIm, fromIm]
      if (n === 8) {
        stride *= 4
        radix2(fromRe, fromIm, toRe, toIm, stride)
        ;[fromRe, toRe] = [toRe, fromRe]
        ;[fromIm, toIm] = [toIm, fromIm]
        break
      }
    }
    if (size === 2) {
      radix2(re, im, workRe, workIm, 1)
      fromRe = workRe
      fromIm = workIm
    }
    if (fromRe !== re) {
      re.set(fromRe)
      im.set(fromIm)
    }
  })
}

/** One radix-4 step of Stockham's scheme: n points left per transform, `stride` transforms interleaved. */
function radix4(
  xr: Float64Array,
  xi: Float64Array,
  yr: Float64Array,
  yi: Float64Array,
  n: number,
  stride: number,
  cos: Float64Array,
  sin: Float64Array,
): void {
  const quarter = n / 4
  const span = stride * quarter
  for (let p = 0; p < quarter; p++) {
    const w1r = cos[p * stride]!
    const w1i = sin[p * stride]!
    const w2r = cos[2 * p * stride]!
    const w2i = sin[2 * p * stride]!
    const w3r = cos[3 * p * stride]!
    const w3i = sin[3 * p * stride]!
    const from = stride * p
    const to = stride * 4 * p
    for (let q = 0; q < stride; q++) {
      const a = from + q
      const ar = xr[a]!
      const ai = xi[a]!
      const br = xr[a + span]!
      const bi = xi[a + span]!
      const cr = xr[a + 2 * span]!
      const ci = xi[a + 2 * span]!
      const dr = xr[a + 3 * span]!
      const di = xi[a + 3 * span]!
      const sumR = ar + cr
      const sumI = ai + ci
      const difR = ar - cr
      const difI = ai - ci
      const oddR = br + dr
      const oddI = bi + di
      // -i (b - d)
      const turnR = bi - di
      const turnI = dr - br
      const y = to + q
      yr[y] = sumR + oddR
      yi[y] = sumI + oddI
      const er = difR + turnR
      const ei = difI + turnI
      yr[y + stride] = er * w1r - ei * w1i
      yi[y + stride] = er * w1i + ei * w1r
      const fr = sumR - oddR
      const fi = sumI - oddI
      yr[y + 2 * stride] = fr * w2r - fi * w2i
      yi[y + 2 * stride] = fr * w2i + fi * w2r
      const gr = difR - turnR
      const gi = difI - turnI
      yr[y + 3 * stride] = gr * w3r - gi * w3i
      yi[y + 3 * stride] = gr * w3i + gi * w3r
    }
  }
}

function radix2(
  xr: Float64Array,
  xi: Float64Array,
  yr: Float64Array,
  yi: Float64Array,
  stride: number,
): void {
  for (let q = 0; q < stride; q++) {
    const ar = xr[q]!
    const ai = xi[q]!
    const br = xr[q + stride]!
    const bi = xi[q + stride]!
    yr[q] = ar + br
    yi[q] = ai + bi
    yr[q + stride] = ar - br
    yi[q + stride] = ai - bi
  }
}

function planAnyLength(size: number): ComplexFft {
  const length = nextPowerOfTwo(2 * size - 1)
  const inner = planPowerOfTwo(length)
  const chirpRe = new Float64Array(size)
  const chirpIm = new Float64Array(size)
  const kernelRe = new Float64Array(length)
  const kernelIm = new Float64Array(length)
  for (let k = 0; k < size; k++) {
    // k^2 modulo 2N first: the angle of a large k^2 would lose its digits.
    const angle = (Math.PI * ((k * k) % (2 * size))) / size
    chirpRe[k] = Math.cos(angle)
    chirpIm[k] = -Math.sin(angle)
    kernelRe[k] = chirpRe[k]!
    kernelIm[k] = -chirpIm[k]!
    if (k > 0) {
      kernelRe[length - k] = kernelRe[k]!
      kernelIm[length - k] = kernelIm[k]!
    }
  }
  inner.forward(kernelRe, kernelIm)
  const workRe = new Float64Array(length)
  const workIm = new Float64Array(length)
  return withInverse(size, (re, im) => {
    workRe.fill(0)
    workIm.fill(0)
    for (let k = 0; k < size; k++) {
      workRe[k] = re[k]! * chirpRe[k]! - im[k]! * chirpIm[k]!
      workIm[k] = re[k]! * chirpIm[k]! + im[k]! * chirpRe[k]!
    }
    inner.forward(workRe, workIm)
    for (let k = 0; k < length; k++) {
      const product = workRe[k]! * kernelRe[k]! - workIm[k]! * kernelIm[k]!
      workIm[k] = workRe[k]! * kernelIm[k]! + workIm[k]! * kernelRe[k]!
      workRe[k] = product
    }
    inner.inverse(workRe, workIm)
    for (let k = 0; k < size; k++) {
      re[k] = workRe[k]! * chirpRe[k]! - workIm[k]! * chirpIm[k]!
      im[k] = workRe[k]! * chirpIm[k]! + workIm[k]! * chirpRe[k]!
    }
  })
}

function checkReal(size: number, bins: number, samples: number, re: number, im: number): void {
  if (samples !== size || re !== bins || im !== bins) {
    throw new Error(`real transform of length ${size} needs ${bins} bins; given ${samples}, ${re} and ${im}`)
  }
}

/** Even and odd samples as the two parts of one complex series of half the length, then untangled. */
function planRealEven(size: number): RealFft {
  const half = size / 2
  const bins = half + 1
  const inner = complexFft(half)
  const workRe = new Float64Array(half)
  const workIm = new Float64Array(half)
  const cos = new Float64Array(bins)
  const sin = new Float64Array(bins)
  for (let k = 0; k < bins; k++) {
    cos[k] = Math.cos((2 * Math.PI * k) / size)
    sin[k] = -Math.sin((2 * Math.PI * k) / size)
  }
  return {
    size,
    bins,
    forward(input, re, im) {
      checkReal(size, bins, input.length, re.length, im.length)
      for (let k = 0; k < half; k++) {
        workRe[k] = input[2 * k]!
        workIm[k] = input[2 * k + 1]!
      }
      inner.forward(workRe, workIm)
      for (let k = 0; k < bins; k++) {
        const here = k === half ? 0 : k
        const mirror = k === 0 ? 0 : half - k
        const evenR = 0.5 * (workRe[here]! + workRe[mirror]!)
        const evenI = 0.5 * (workIm[here]! - workIm[mirror]!)
        const oddR = 0.5 * (workIm[here]! + workIm[mirror]!)
        const oddI = 0.5 * (workRe[mirror]! - workRe[here]!)
        re[k] = evenR + cos[k]! * oddR - sin[k]! * oddI
        im[k] = evenI + cos[k]! * oddI + sin[k]! * oddR
      }
    },
    inverse(re, im, output) {
      checkReal(size, bins, output.length, re.length, im.length)
      for (let k = 0; k < half; k++) {
        const mirror = half - k
        const evenR = 0.5 * (re[k]! + re[mirror]!)
        const evenI = 0.5 * (im[k]! - im[mirror]!)
        const difR = 0.5 * (re[k]! - re[mirror]!)
        const difI = 0.5 * (im[k]! + im[mirror]!)
        const oddR = difR * cos[k]! + difI * sin[k]!
        const oddI = difI * cos[k]! - difR * sin[k]!
        workRe[k] = evenR - oddI
        workIm[k] = evenI + oddR
      }
      inner.inverse(workRe, workIm)
      for (let k = 0; k < half; k++) {
        output[2 * k] = workRe[k]!
        output[2 * k + 1] = workIm[k]!
      }
    },
  }
}

function planRealOdd(size: number): RealFft {
  const bins = (size + 1) / 2
  const inner = complexFft(size)
  const workRe = new Float64Array(size)
  const workIm = new Float64Array(size)
  return {
    size,
    bins,
    forward(input, re, im) {
      checkReal(size, bins, input.length, re.length, im.length)
      for (let k = 0; k < size; k++) workRe[k] = input[k]!
      workIm.fill(0)
      inner.forward(workRe, workIm)
      re.set(workRe.subarray(0, bins))
      im.set(workIm.subarray(0, bins))
    },
    inverse(re, im, output) {
      checkReal(size, bins, output.length, re.length, im.length)
      for (let k = 0; k < bins; k++) {
        workRe[k] = re[k]!
        workIm[k] = k === 0 ? 0 : im[k]!
        if (k > 0) {
          workRe[size - k] = re[k]!
          workIm[size - k] = -im[k]!
        }
      }
      inner.inverse(workRe, workIm)
      output.set(workRe)
    },
  }
}
