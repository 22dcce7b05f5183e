import { nextPowerOfTwo, realFft } from './fft.ts'
import { kernelDirect, kernelMultiplies, kernelSpectrum } from './kernel/products-kernel.ts'
import { areSamples } from './samples.ts'

/** So many lags, and so many products in all, are summed up faster than transformed. */
const FEW_LAGS = 48
const FEW_PRODUCTS = 2 ** 18
/** The compiled kernel sums up so many as fast as it transforms them. */
const FEW_LAGS_OF_KERNEL = 96

/**
 * sum over n of u[n] y[n + lag] for all lags from firstLag to lastLag, both series taken as zero outside. NaN in either
 * makes sums NaN. Few lags are summed up one by one, many by transforms, in the compiled kernel where it can be had; all ways
 * agree to rounding.
 */
export function crossProducts(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  firstLag: number,
  lastLag: number,
): Float64Array {
  if (!kernelMultiplies()) return plainProducts(u, y, firstLag, lastLag)
  const lags = lagsOf(firstLag, lastLag)
  const [a, b] = [areSamples(u) ? u : Float64Array.from(u), areSamples(y) ? y : Float64Array.from(y)]
  if (lags <= FEW_LAGS_OF_KERNEL || lags * u.length <= FEW_PRODUCTS) return kernelDirect(a, b, firstLag, lags)
  const size = transformSize(u.length, lags)
  const { re, im } = kernelSpectrum(a, b, firstLag, lags, size)
  const work = new Float64Array(size)
  realFft(size).inverse(re, im, work)
  return work.slice(0, lags)
}

/** The same without the kernel. */
export function plainProducts(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  firstLag: number,
  lastLag: number,
): Float64Array {
  const lags = lagsOf(firstLag, lastLag)
  return lags <= FEW_LAGS || lags * u.length <= FEW_PRODUCTS
    ? summedUp(u, y, firstLag, lags)
    : byTransforms(u, y, firstLag, lags)
}

function lagsOf(firstLag: number, lastLag: number): number {
  const lags = lastLag - firstLag + 1
  if (!(lags >= 1)) throw new Error(`no lags from ${firstLag} to ${lastLag}`)
  return lags
}

const transformSize = (length: number, lags: number): number =>
  Math.min(nextPowerOfTwo(length + lags), Math.max(1024, nextPowerOfTwo(4 * lags)))

/** Four lags at a time, so that each sample is read once for all of them. */
function summedUp(u: ArrayLike<number>, y: ArrayLike<number>, firstLag: number, lags: number): Float64Array {
  const values = u instanceof Float64Array ? u : Float64Array.from(u)
  // y from firstLag on, with zeros wherever the lags lead outside of it.
  const later = new Float64Array(values.length + lags + 3)
  const from = Math.max(0, firstLag)
  put(later, y, from, Math.min(y.length, firstLag + later.length), from - firstLag)
  const products = new Float64Array(lags + 3)
  for (let k = 0; k < lags; k += 4) fourLags(values, later, k, products)
  return products.slice(0, lags)
}

function fourLags(u: Float64Array, y: Float64Array, first: number, into: Float64Array): void {
  const count = u.length
  let [s0, s1, s2, s3] = [0, 0, 0, 0]
  let b0 = y[first]!
  let b1 = y[first + 1]!
  let b2 = y[first + 2]!
  for (let n = 0; n < count; n++) {
    const a = u[n]!
    const b3 = y[first + n + 3]!
    s0 += a * b0
    s1 += a * b1
    s2 += a * b2
    s3 += a * b3
    b0 = b1
    b1 = b2
    b2 = b3
  }
  into[first] = s0
  into[first + 1] = s1
  into[first + 2] = s2
  into[first + 3] = s3
}

/** Blocks of u against the stretch of y they can meet, added up as spectra: one inverse transform in all. */
function byTransforms(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  firstLag: number,
  lags: number,
): Float64Array {
  const lastLag = firstLag + lags - 1
  const size = transformSize(u.length, lags)
  const block = size - lags + 1
  const plan = realFft(size)
  const ofU = spectrum(plan.bins)
  const ofY = spectrum(plan.bins)
  const sum = spectrum(plan.bins)
  const work = new Float64Array(size)
  for (let start = 0; start < u.length; start += block) {
    const end = Math.min(u.length, start + block)
    const yStart = start + firstLag
    const yEnd = end + lastLag
    if (yEnd <= 0 || yStart >= y.length) continue
    work.fill(0)
    put(work, u, start, end, 0)
    plan.forward(work, ofU.re, ofU.im)
    work.fill(0)
    const from = Math.max(0, yStart)
    put(work, y, from, Math.min(y.length, yEnd), from - yStart)
    plan.forward(work, ofY.re, ofY.im)
    addProducts(ofU, ofY, sum)
  }
  plan.inverse(sum.re, sum.im, work)
  return work.slice(0, lags)
}

interface Spectrum {
  readonly re: Float64Array
  readonly im: Float64Array
}

const spectrum = (bins: number): Spectrum => ({ re: new Float64Array(bins), im: new Float64Array(bins) })

/** sum += conj(u) y */
function addProducts(u: Spectrum, y: Spectrum, sum: Spectrum): void {
  const [uRe, uIm, yRe, yIm, sumRe, sumIm] = [u.re, u.im, y.re, y.im, sum.re, sum.im]
  for (let k = 0; k < sumRe.length; k++) {
    sumRe[k]! += uRe[k]! * yRe[k]! + uIm[k]! * yIm[k]!
    sumIm[k]! += uRe[k]! * yIm[k]! - uIm[k]! * yRe[k]!
  }
}

/** Copies the samples from..to (not included) to `at` and on. */
function put(into: Float64Array, of: ArrayLike<number>, from: number, to: number, at: number): void {
  if (to <= from) return
  if (of instanceof Float64Array) into.set(of.subarray(from, to), at)
  else for (let n = from; n < to; n++) into[at + n - from] = of[n]!
}
