import { expect, test } from 'vitest'
import { crossProducts, plainProducts } from '../../../workers/signal/cross-products.ts'
import { complexFft } from '../../../workers/signal/fft.ts'
import {
  kernelDirect,
  kernelMultiplies,
  kernelSpectrum,
} from '../../../workers/signal/kernel/products-kernel.ts'
import { normalInput } from './series.ts'

const largest = (values: Float64Array) => values.reduce((most, value) => Math.max(most, Math.abs(value)), 0)

/** Largest difference, as a share of the largest number. */
const apart = (one: Float64Array, other: Float64Array) =>
  largest(one.map((value, k) => value - other[k]!)) / largest(other)

test('the kernel is there', () => expect(kernelMultiplies()).toBe(true))

// Direct sums: less than a vector's worth of lags, more than one stretch of the series, lags that lead outside of it.
// Transforms: one block, an odd number of blocks, series shorter than the other.
test.each([
  [1, 1, 0, 0],
  [100, 100, -3, 3],
  [20_000, 20_000, -24, 24],
  [9000, 7000, 0, 15],
  [50, 9, 5, 30],
  [300, 300, -400, -290],
  [1000, 1000, -38, 38],
  [20_000, 20_000, -125, 125],
  [3000, 3000, -120, 150],
  [20_000, 5000, 0, 500],
  [5000, 20_000, 14_000, 15_500],
])('products of %i and %i samples, lags %i to %i, are those of the plain code', (ofU, ofY, first, last) => {
  const u = Float64Array.from(normalInput(5, ofU), (value, n) => value + 3 * Math.sin(n / 40))
  const y = Float64Array.from(normalInput(6, ofY), (value, n) => value + 3 * Math.sin((n - 7) / 40))
  const products = crossProducts(u, y, first, last)
  expect(products).toHaveLength(last - first + 1)
  expect(apart(products, plainProducts(u, y, first, last))).toBeLessThan(1e-13)
  const singles = [Float32Array.from(u), Float32Array.from(y)] as const
  expect(apart(crossProducts(...singles, first, last), plainProducts(...singles, first, last))).toBeLessThan(
    1e-13,
  )
  expect(apart(kernelDirect(u, y, first, last - first + 1), products)).toBeLessThan(1e-12)
})

test.each([4, 8, 16, 512, 2048])('spectra of one block of %i are those of the plain transform', (size) => {
  const u = Float64Array.from(normalInput(1, size))
  const y = Float64Array.from(normalInput(2, size))
  const [uRe, uIm, yRe, yIm] = [u.slice(), new Float64Array(size), y.slice(), new Float64Array(size)]
  complexFft(size).forward(uRe, uIm)
  complexFft(size).forward(yRe, yIm)
  const { re, im } = kernelSpectrum(u, y, 0, 1, size)
  expect(
    apart(
      re,
      uRe.slice(0, size / 2 + 1).map((value, k) => value * yRe[k]! + uIm[k]! * yIm[k]!),
    ),
  ).toBeLessThan(1e-14)
  expect(
    apart(
      im,
      uRe.slice(0, size / 2 + 1).map((value, k) => value * yIm[k]! - uIm[k]! * yRe[k]!),
    ),
  ).toBeLessThan(1e-14)
})

test('NaN spreads to the sums that it takes part in', () => {
  const u = new Float64Array(100).fill(1)
  const y = u.slice()
  u[50] = NaN
  expect(crossProducts(u, y, -2, 2).every(Number.isNaN)).toBe(true)
})
