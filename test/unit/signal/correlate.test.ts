import { expect, test } from 'vitest'
import { correlate, parabolaPeak } from '../../../workers/signal/correlate.ts'
import { crossProducts } from '../../../workers/signal/cross-products.ts'
import { randomInput } from './series.ts'

/** Pearson's correlation by its definition, over what overlaps and is finite. */
function slowly(u: ArrayLike<number>, y: ArrayLike<number>, lag: number) {
  const pairs: [number, number][] = []
  for (let n = 0; n < u.length; n++) {
    const pair: [number, number] = [u[n]!, y[n + lag] ?? NaN]
    if (pair.every(Number.isFinite)) pairs.push(pair)
  }
  const mean = (side: 0 | 1) => pairs.reduce((sum, pair) => sum + pair[side], 0) / pairs.length
  const [a, b] = [mean(0), mean(1)]
  const product = (f: (p: [number, number]) => number) => pairs.reduce((sum, pair) => sum + f(pair), 0)
  const r =
    product(([x, z]) => (x - a) * (z - b)) /
    Math.sqrt(product(([x]) => (x - a) ** 2) * product(([, z]) => (z - b) ** 2))
  return { r, overlap: pairs.length }
}

test.each([
  ['whole series', false, 200, 200],
  ['with NaN on both sides', true, 200, 200],
  ['of different lengths', true, 90, 230],
])('correlation %s equals its definition at every lag', (_, holed, lengthU, lengthY) => {
  const u = randomInput(1, lengthU).map((value) => value + 100)
  const y = randomInput(2, lengthY).map((value) => 3 * value - 40)
  if (holed) {
    u.fill(NaN, 20, 31)
    y[5] = NaN
    y.fill(NaN, 60, 64)
  }
  const { r, overlap, firstLag } = correlate(u, y, -80, 150)
  expect(firstLag).toBe(-80)
  for (let k = 0; k < r.length; k++) {
    const expected = slowly(u, y, k - 80)
    expect(overlap[k]).toBe(expected.overlap)
    if (expected.overlap > 2) expect(r[k]).toBeCloseTo(expected.r, 9)
  }
})

test.each([
  [3001, 2950],
  [2950, 3001],
  [60, 65],
])('three lags, summed in one pass, equal many: series of %i and %i', (lengthU, lengthY) => {
  const u = randomInput(7, lengthU).map((value) => 5 * value + 3)
  const y = randomInput(8, lengthY).map((value, n) => value - 20 + (u[n] ?? 0))
  const many = correlate(u, y, -56, 58)
  for (const first of [-56, -3, -1, 0, 1, 49, 54]) {
    const three = correlate(u, y, first, first + 2)
    three.r.forEach((value, k) => expect(value).toBeCloseTo(many.r[first + 56 + k]!, 9))
    three.overlap.forEach((value, k) => expect(value).toBe(many.overlap[first + 56 + k]!))
  }
  y[40] = NaN
  expect(correlate(u, y, 0, 2).r[1]).toBeCloseTo(correlate(u, y, -56, 58).r[57]!, 10)
})

// Few lags are summed up, many go through transforms, of which the longer series need several blocks.
test.each([
  { lengths: [5000, 4700], first: -7, last: 12 },
  { lengths: [50, 9], first: 5, last: 30 },
  { lengths: [900, 1200], first: -1000, last: -880 },
  { lengths: [5000, 4700], first: -60, last: 75 },
  { lengths: [4700, 5000], first: 300, last: 420 },
])('products equal sums by their definition: $lengths, $first to $last', ({ lengths, first, last }) => {
  const u = randomInput(3, lengths[0]!)
  const y = randomInput(4, lengths[1]!)
  for (const [one, other] of [
    [u, y],
    [Float32Array.from(u), Float32Array.from(y)],
  ] as const) {
    const products = crossProducts(one, other, first, last)
    expect(products).toHaveLength(last - first + 1)
    for (let lag = first; lag <= last; lag++) {
      let sum = 0
      for (let n = 0; n < one.length; n++) sum += one[n]! * (other[n + lag] ?? 0)
      expect(products[lag - first]).toBeCloseTo(sum, 8)
    }
  }
})

test('correlation is symmetric: exchanging the series mirrors the lags', () => {
  const u = randomInput(5, 300)
  const y = randomInput(6, 300)
  const there = correlate(u, y, -20, 20).r
  const back = correlate(y, u, -20, 20).r
  there.forEach((value, k) => expect(value).toBeCloseTo(back[40 - k]!, 10))
})

test('correlation with a constant is undefined, not zero', () => {
  expect(correlate(randomInput(1, 50), new Float64Array(50), 0, 0).r[0]).toBeNaN()
})

test('the parabola finds the peak of a parabola', () => {
  const f = (x: number) => 3 - 2 * (x - 0.3) ** 2
  expect(parabolaPeak(f(-1), f(0), f(1))).toBeCloseTo(0.3, 12)
  expect(parabolaPeak(1, 1, 1)).toBe(0)
})
