import { describe, expect, test } from 'vitest'
import {
  fewestPairs,
  hodgesLehmann,
  midRanks,
  signedRankTest,
  signShares,
} from '../../../workers/statistics/signed-ranks.ts'
import { reference } from './reference.ts'

/** Hamilton depression scale before and after, the example of R's wilcox.test (Hollander & Wolfe 1973, p. 29). */
const FIRST = [1.83, 0.5, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.3]
const SECOND = [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29]
const DEPRESSION = FIRST.map((value, k) => value - SECOND[k]!)
/** Darwin's maize, crossed less self-fertilised, eighths of an inch (Fisher 1935, from memory). */
const MAIZE = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]

describe('signed-rank test', () => {
  test('depression scale: V 40, one-sided p .01953 (R)', () => {
    const result = signedRankTest(DEPRESSION)
    expect(result.positiveRanks).toBe(40)
    expect(result.pGreater).toBeCloseTo(0.01953125, 10)
    expect(result.exact).toBe(true)
  })

  test("Darwin's maize: W+ 96, p .0412598; permutation 863/32768 (computed with R)", () => {
    const result = signedRankTest(MAIZE)
    expect(result.positiveRanks).toBe(96)
    expect(result.p).toBeCloseTo(0.0412598, 7)
    // Fisher's own: signs of the differences themselves, not of their ranks.
    const positive = MAIZE.filter((value) => value > 0).reduce((sum, value) => sum + value, 0)
    const share = signShares(MAIZE.map(Math.abs))
    const atLeast = share.slice(positive).reduce((sum, value) => sum + value, 0)
    expect(Math.round(atLeast * 32768)).toBe(863)
  })

  test('agrees with SciPy', () => {
    for (const { x, smaller, p, greater } of reference.wilcoxon) {
      const result = signedRankTest(x)
      const whole = (x.length * (x.length + 1)) / 2
      expect(Math.min(result.positiveRanks, whole - result.positiveRanks)).toBe(smaller)
      expect(result.p).toBeCloseTo(p, 10)
      expect(result.pGreater).toBeCloseTo(greater, 10)
    }
  })

  test('turning all signs mirrors it; zeros are dropped; few pairs can not reach .05', () => {
    const result = signedRankTest(DEPRESSION)
    const turned = signedRankTest(DEPRESSION.map((value) => -value))
    expect(turned.p).toBe(result.p)
    expect(turned.pLess).toBe(result.pGreater)
    expect(signedRankTest([...DEPRESSION, 0, 0])).toEqual(result)
    expect(signedRankTest([1, 2, 3, 4, 5]).p).toBe(0.0625)
    expect(signedRankTest([]).p).toBe(1)
    expect(fewestPairs(0.05)).toBe(6)
    expect(signedRankTest([1, 2, 3, 4, 5, 6]).p).toBeLessThan(0.05)
  })

  test('ties are counted out exactly: enumerated signs', () => {
    const x = [1, 1, -2, 3, 3, 3, -1, 2]
    const ranks = midRanks(x.map(Math.abs))
    const observed = x.reduce((sum, value, k) => sum + (value > 0 ? ranks[k]! : 0), 0)
    let atLeast = 0
    for (let signs = 0; signs < 256; signs++) {
      const sum = ranks.reduce((total, rank, k) => total + ((signs >> k) & 1 ? rank : 0), 0)
      if (sum >= observed) atLeast++
    }
    expect(signedRankTest(x).pGreater).toBeCloseTo(atLeast / 256, 14)
  })

  test('the normal approximation for many takes over smoothly', () => {
    const many = Array.from({ length: 200 }, (_, k) => Math.sin(k * 12.9898) + 0.08)
    const exact = signedRankTest(many)
    const approximate = signedRankTest([...many, 1e-9])
    expect(exact.exact).toBe(true)
    expect(approximate.exact).toBe(false)
    expect(approximate.p / exact.p).toBeGreaterThan(0.9)
    expect(approximate.p / exact.p).toBeLessThan(1.1)
  })
})

describe("Hodges and Lehmann's estimate", () => {
  test('depression scale: .46 [.01, .786] (R)', () => {
    const { effect, low, high, coverage } = hodgesLehmann(DEPRESSION)
    expect(effect).toBeCloseTo(0.46, 10)
    expect(low).toBeCloseTo(0.01, 10)
    expect(high).toBeCloseTo(0.786, 10)
    expect(coverage).toBeGreaterThanOrEqual(0.95)
  })

  test('shifts with the values and turns with their sign', () => {
    const base = hodgesLehmann(DEPRESSION)
    const shifted = hodgesLehmann(DEPRESSION.map((value) => value + 2))
    const turned = hodgesLehmann(DEPRESSION.map((value) => -value))
    expect(shifted.effect).toBeCloseTo(base.effect + 2, 12)
    expect(shifted.low).toBeCloseTo(base.low + 2, 12)
    expect(turned.effect).toBe(-base.effect)
    expect(turned.low).toBe(-base.high)
    expect(turned.high).toBe(-base.low)
  })

  test('excludes 0 exactly where the test says so', () => {
    for (let shift = -1; shift <= 1; shift += 0.05) {
      const x = DEPRESSION.map((value) => value + shift + 1e-7)
      const { low, high } = hodgesLehmann(x)
      expect(low > 0 || high < 0).toBe(signedRankTest(x).p <= 0.05)
    }
  })

  test('too few pairs: the widest interval, and what it covers', () => {
    const { low, high, coverage } = hodgesLehmann([1, 2, 3, 4])
    expect([low, high]).toEqual([1, 4])
    expect(coverage).toBe(0.875)
  })
})
