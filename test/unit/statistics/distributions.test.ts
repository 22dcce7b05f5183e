import { describe, expect, test } from 'vitest'
import {
  betaI,
  normalCdf,
  normalQuantile,
  studentCdf,
  studentQuantile,
} from '../../../workers/statistics/distributions.ts'
import { reference } from './reference.ts'

describe('normal and Student distributions', () => {
  test('agree with SciPy', () => {
    for (const { z, cdf } of reference.normal) expect(normalCdf(z)).toBeCloseTo(cdf, 12)
    for (const { p, z } of reference.normalQuantiles) expect(normalQuantile(p)).toBeCloseTo(z, 6)
    for (const { t, dof, cdf } of reference.student) expect(studentCdf(t, dof)).toBeCloseTo(cdf, 11)
    for (const { p, dof, t } of reference.studentQuantiles)
      expect(studentQuantile(p, dof) / t).toBeCloseTo(1, 8)
  })

  test('quantiles undo the distributions, and lie mirrored', () => {
    for (const p of [0.001, 0.03, 0.4]) {
      expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 12)
      expect(studentCdf(studentQuantile(p, 3.7), 3.7)).toBeCloseTo(p, 12)
      expect(normalQuantile(0.5 + p)).toBe(-normalQuantile(1 - (0.5 + p)))
    }
    expect(normalQuantile(1)).toBe(Infinity)
  })

  test('I_x(a, b) = 1 - I_(1-x)(b, a), and I_x(1, 1) = x', () => {
    expect(betaI(0.3, 2, 5)).toBeCloseTo(1 - betaI(0.7, 5, 2), 14)
    expect(betaI(0.37, 1, 1)).toBeCloseTo(0.37, 14)
    expect(() => betaI(0.5, 0, 1)).toThrow('0, 1')
  })
})
