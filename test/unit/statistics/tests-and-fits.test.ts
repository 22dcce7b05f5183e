import { describe, expect, test } from 'vitest'
import { benjaminiHochberg, holm } from '../../../workers/statistics/adjust.ts'
import { assign, costOf } from '../../../workers/statistics/assignment.ts'
import { bcaInterval } from '../../../workers/statistics/bootstrap.ts'
import { equivalentMeans, rawBound } from '../../../workers/statistics/equivalence.ts'
import { leastSquares } from '../../../workers/statistics/least-squares.ts'
import { mean, median, quantile, robustSd, standardDeviation } from '../../../workers/statistics/moments.ts'
import { columnOf, nistRows } from './nist.ts'
import { reference } from './reference.ts'

const ones = (count: number) => new Array<number>(count).fill(1)
/** Digits that agree: -log10 of the relative error. */
const digits = (value: number, certified: number) => -Math.log10(Math.abs(value / certified - 1) + 1e-16)

describe('moments', () => {
  const numAcc4 = nistRows('NumAcc4')
  test.skipIf(numAcc4 === null)('NumAcc4: mean 10000000.2, SD 0.1 (NIST)', () => {
    const values = columnOf(numAcc4!, 0)
    expect(values.length).toBe(1001)
    expect(mean(values)).toBeCloseTo(10000000.2, 7)
    // The numbers themselves are only held to 2e-9, which is 2e-8 of the deviation.
    expect(standardDeviation(values)).toBeCloseTo(0.1, 7)
  })

  test('median, quantile and robust SD', () => {
    expect(median([3, 1, 2])).toBe(2)
    expect(median([4, 1, 2, 3])).toBe(2.5)
    expect(median([])).toBeNaN()
    // numpy.quantile([1, 2, 4, 8], [.1, .5]) gives 1.3 and 3.
    expect(quantile([1, 2, 4, 8], 0.1)).toBeCloseTo(1.3, 12)
    expect(quantile([1, 2, 4, 8], 0.5)).toBe(3)
    expect(robustSd([1, 2, 3, 4, 1000])).toBeCloseTo(1.4826, 12)
  })
})

describe('least squares', () => {
  const norris = nistRows('Norris')
  test.skipIf(norris === null)('Norris (NIST): B0, B1, their errors and the residual SD', () => {
    const fit = leastSquares([ones(36), columnOf(norris!, 1)], columnOf(norris!, 0))!
    expect(digits(fit.coefficients[0]!, -0.262323073774029)).toBeGreaterThan(11)
    expect(digits(fit.coefficients[1]!, 1.00211681802045)).toBeGreaterThan(13)
    expect(digits(fit.standardErrors[0]!, 0.232818234301152)).toBeGreaterThan(11)
    expect(digits(fit.standardErrors[1]!, 0.429796848199937e-3)).toBeGreaterThan(11)
    expect(digits(fit.residualSd, 0.884796396144373)).toBeGreaterThan(11)
  })

  const longley = nistRows('Longley')
  test.skipIf(longley === null)('Longley (NIST): ill-conditioned, six regressors', () => {
    const columns = [ones(16), ...[1, 2, 3, 4, 5, 6].map((k) => columnOf(longley!, k))]
    const fit = leastSquares(columns, columnOf(longley!, 0))!
    const certified = [
      -3482258.63459582, 15.0618722713733, -0.03581917929259, -2.02022980381683, -1.03322686717359,
      -0.0511041056535807, 1829.15146461355,
    ]
    certified.forEach((value, k) => expect(digits(fit.coefficients[k]!, value)).toBeGreaterThan(9))
    expect(digits(fit.residualSd, 304.854073561965)).toBeGreaterThan(9)
    expect(digits(fit.standardErrors[6]!, 455.478499142212)).toBeGreaterThan(8)
  })

  test('mtcars (R): mpg ~ am + wt, am -.02361522 with error 1.54564533', () => {
    const mpg = [
      21, 21, 22.8, 21.4, 18.7, 18.1, 14.3, 24.4, 22.8, 19.2, 17.8, 16.4, 17.3, 15.2, 10.4, 10.4, 14.7, 32.4,
      30.4, 33.9, 21.5, 15.5, 15.2, 13.3, 19.2, 27.3, 26, 30.4, 15.8, 19.7, 15, 21.4,
    ]
    const wt = [
      2.62, 2.875, 2.32, 3.215, 3.44, 3.46, 3.57, 3.19, 3.15, 3.44, 3.44, 4.07, 3.73, 3.78, 5.25, 5.424,
      5.345, 2.2, 1.615, 1.835, 2.465, 3.52, 3.435, 3.84, 3.845, 1.935, 2.14, 1.513, 3.17, 2.77, 3.57, 2.78,
    ]
    const am = wt.map((_, k) => (k < 3 || (k >= 17 && k < 20) || k >= 25 ? 1 : 0))
    const fit = leastSquares([ones(32), am, wt], mpg)!
    expect(fit.coefficients[1]).toBeCloseTo(-0.02361522, 8)
    expect(fit.standardErrors[1]).toBeCloseTo(1.54564533, 8)
  })

  test('residuals stand at right angles to every column; a column with its sign turned turns its coefficient', () => {
    const x = Array.from({ length: 20 }, (_, k) => Math.sin(3 * k))
    const y = x.map((value, k) => 2 * value + Math.cos(7 * k))
    const fit = leastSquares([ones(20), x], y)!
    expect(fit.residuals.reduce((sum, value) => sum + value, 0)).toBeCloseTo(0, 12)
    expect(fit.residuals.reduce((sum, value, k) => sum + value * x[k]!, 0)).toBeCloseTo(0, 12)
    const turned = leastSquares([ones(20), x.map((value) => -value)], y)!
    expect(turned.coefficients[1]).toBe(-fit.coefficients[1]!)
  })

  test('dependent columns and too few rows give nothing', () => {
    const x = [1, 2, 3, 5]
    expect(leastSquares([x, x.map((value) => 2 * value)], [1, 1, 2, 2])).toBeNull()
    expect(leastSquares([[1], [2]], [1])).toBeNull()
    expect(() => leastSquares([[1, NaN]], [1, 1])).toThrow('NaN')
  })
})

describe('adjusted p values (computed with R, p.adjust)', () => {
  const p = [0.01, 0.04, 0.03, 0.005]
  const near = (values: number[], wanted: number[]) =>
    values.forEach((value, k) => expect(value).toBeCloseTo(wanted[k]!, 12))
  test('Holm', () => near(holm(p), [0.03, 0.06, 0.06, 0.02]))
  test('Benjamini-Hochberg', () => near(benjaminiHochberg(p), [0.02, 0.04, 0.04, 0.02]))
  test('never below the p itself, never above 1, in the same order', () => {
    const many = [0.9, 0.5, 0.02, 0.7, 0.02]
    for (const adjust of [holm, benjaminiHochberg]) {
      adjust(many).forEach((value, k) => {
        expect(value).toBeGreaterThanOrEqual(many[k]!)
        expect(value).toBeLessThanOrEqual(1)
      })
      expect(adjust([])).toEqual([])
    }
  })
})

describe('bootstrap', () => {
  /** Law schools (Efron & Tibshirani 1993, Table 3.1, from memory). */
  const lsat = [576, 635, 558, 578, 666, 580, 555, 661, 651, 605, 653, 575, 545, 572, 594]
  const gpa = [3.39, 3.3, 2.81, 3.03, 3.44, 3.07, 3.0, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96]
  const correlation = (drawn: ArrayLike<number>) => {
    const x = Array.from(drawn, (k) => lsat[k]!)
    const y = Array.from(drawn, (k) => gpa[k]!)
    const [mx, my] = [mean(x), mean(y)]
    const sum = (f: (k: number) => number) => x.reduce((total, _, k) => total + f(k), 0)
    const xy = sum((k) => (x[k]! - mx) * (y[k]! - my))
    return xy / Math.sqrt(sum((k) => (x[k]! - mx) ** 2) * sum((k) => (y[k]! - my) ** 2))
  }

  test('law schools: r .776374, a -.0741, 95 % (.338, .940) (computed with R)', () => {
    expect(correlation(lsat.map((_, k) => k))).toBeCloseTo(0.776374, 6)
    const interval = bcaInterval(15, correlation, { resamples: 20_000, seed: 3 })
    // The jackknife's acceleration does not depend on the draws: NumPy gives -0.0756716 by the same formula. R's -.0741 probably
    // comes from a regression over its own draws, and so differs a little.
    expect(interval.acceleration).toBeCloseTo(-0.0756716, 6)
    expect(interval.acceleration).toBeCloseTo(-0.0741, 2)
    expect(interval.low).toBeGreaterThan(0.31)
    expect(interval.low).toBeLessThan(0.365)
    expect(interval.high).toBeGreaterThan(0.93)
    expect(interval.high).toBeLessThan(0.95)
  })

  test('spatial test: variance, 90 % (115.8, 259.6) (Efron & Tibshirani, Table 14.2), to within 3', () => {
    // Their Table 14.1, column A, from memory; its variance with n below is the book's 171.5.
    const values = [
      48, 36, 20, 29, 42, 42, 20, 42, 22, 41, 45, 14, 6, 0, 33, 28, 34, 4, 32, 24, 47, 41, 24, 26, 30, 41,
    ]
    const spread = (drawn: ArrayLike<number>) => {
      const own = Array.from(drawn, (k) => values[k]!)
      const middle = mean(own)
      return own.reduce((sum, value) => sum + (value - middle) ** 2, 0) / own.length
    }
    expect(spread(values.map((_, k) => k))).toBeCloseTo(171.5, 1)
    const interval = bcaInterval(26, spread, { coverage: 0.9, resamples: 20_000, seed: 1 })
    expect(Math.abs(interval.low - 115.8)).toBeLessThan(3)
    expect(Math.abs(interval.high - 259.6)).toBeLessThan(3)
  })

  test('the opposite statistic gives the mirrored interval, to the last bit', () => {
    const there = bcaInterval(15, correlation, { seed: 5 })
    const back = bcaInterval(15, (drawn) => -correlation(drawn), { seed: 5 })
    expect(back.low).toBeCloseTo(-there.high, 12)
    expect(back.high).toBeCloseTo(-there.low, 12)
  })
})

describe('equivalence', () => {
  test('TOST (5.25, .95, 95) against (5.22, .83, 89), d .43: t -2.69, p .004 (published example)', () => {
    const a = { mean: 5.25, sd: 0.95, n: 95 }
    const b = { mean: 5.22, sd: 0.83, n: 89 }
    const result = equivalentMeans(a, b, rawBound(0.43, a, b))
    expect(result.t).toBeCloseTo(-2.69, 2)
    expect(result.p).toBeCloseTo(0.004, 3)
    const turned = equivalentMeans(b, a, rawBound(0.43, a, b))
    expect(turned.p).toBeCloseTo(result.p, 14)
    expect(turned.t).toBeCloseTo(-result.t, 12)
  })
})

describe('assignment', () => {
  const cases: [number[][], number][] = [
    [
      [
        [4, 1, 3],
        [2, 0, 5],
        [3, 2, 2],
      ],
      5,
    ],
    [
      [
        [400, 150, 400],
        [400, 450, 600],
        [300, 225, 300],
      ],
      850,
    ],
    [
      [
        [10, 10, 8],
        [9, 8, 1],
        [9, 7, 4],
      ],
      18,
    ],
    [
      [
        [1, 2],
        [2, 100],
      ],
      4,
    ],
  ]
  test('check values of the method (computed with SciPy)', () => {
    for (const [cost, total] of cases) expect(costOf(cost, assign(cost))).toBe(total)
  })

  test("SciPy's totals on random costs, square or not", () => {
    for (const { cost, total } of reference.assignment) {
      const assigned = assign(cost)
      expect(costOf(cost, assigned)).toBeCloseTo(total, 8)
      const used = [...assigned].filter((column) => column >= 0)
      expect(new Set(used).size).toBe(Math.min(cost.length, cost[0]!.length))
    }
  })

  test('turned round, it pairs the same', () => {
    for (const { cost } of reference.assignment) {
      const assigned = assign(cost)
      const turned = assign(cost[0]!.map((_, k) => cost.map((row) => row[k]!)))
      assigned.forEach((column, row) => column >= 0 && expect(turned[column]).toBe(row))
    }
  })

  test('refuses costs that are not finite; nothing gives nothing', () => {
    expect(() => assign([[1, Infinity]])).toThrow('Infinity')
    expect([...assign([])]).toEqual([])
  })
})
