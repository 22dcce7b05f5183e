import { expect, test } from 'vitest'
import { correlate, crossProducts, parabolaPeak } from '../../../workers/signal/correlate.ts'
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

test('products in blocks equal products summed directly, also of series longer than a block', () => {
  const u = randomInput(3, 5000)
  const y = randomInput(4, 4700)
  const products = crossProducts(u, y, -7, 12)
  for (let lag = -7; lag <= 12; lag++) {
    let sum = 0
    for (let n = 0; n < u.length; n++) sum += u[n]! * (y[n + lag] ?? 0)
    expect(products[lag + 7]).toBeCloseTo(sum, 8)
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
