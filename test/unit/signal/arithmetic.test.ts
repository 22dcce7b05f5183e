import { expect, test } from 'vitest'
import { difference, product, sum, sumsAround } from '../../../workers/signal/arithmetic.ts'
import { inStretches } from '../../../workers/signal/stretches.ts'

test('arrays are added, subtracted and multiplied entry by entry, into fresh ones', () => {
  const a = Float64Array.of(1, 2, 3)
  const b = Float64Array.of(10, NaN, -1)
  expect([...sum(a, b)]).toEqual([11, NaN, 2])
  expect([...difference(a, b)]).toEqual([-9, NaN, 4])
  expect([...product(a, b)]).toEqual([10, NaN, -3])
  expect([...a]).toEqual([1, 2, 3])
})

test('sums around an entry leave out what lies outside', () => {
  const values = Float64Array.of(1, 2, 4, 8, 16)
  expect([...sumsAround(values, 1)]).toEqual([3, 7, 14, 28, 24])
  expect([...sumsAround(values, 1, 1)]).toEqual([2, 6, 14, 28, 24])
  expect([...sumsAround(values, 9)]).toEqual([31, 31, 31, 31, 31])
  expect([...sumsAround(values, 0)]).toEqual([...values])
})

test.each([0, 1, 8191, 8192, 8193, 50_000])('stretches cover %i samples once each, in order', (length) => {
  let next = 0
  inStretches(length, (from, to) => {
    expect(from).toBe(next)
    expect(to).toBeGreaterThan(from)
    next = to
  })
  expect(next).toBe(length)
})
