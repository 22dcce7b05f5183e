import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import {
  digitsOfStep,
  formatFixed,
  formatMinutes,
  formatSigned,
  niceRange,
  niceStep,
  niceTicks,
  timeTicks,
} from '../../../workers/ticks/ticks.ts'

const range = fc
  .tuple(fc.double({ min: -1e6, max: 1e6, noNaN: true }), fc.double({ min: -5, max: 6, noNaN: true }))
  .map(([min, exponent]) => ({ min, max: min + 10 ** exponent }))
  // Ranges finer than doubles can hold at that height are no ranges of a chart.
  .filter(({ min, max }) => max - min > 1e-7 * Math.abs(min))

describe('ticks', () => {
  test('are round, rising, evenly spaced, within the range and not too many', () => {
    fc.assert(
      fc.property(range, fc.integer({ min: 2, max: 12 }), ({ min, max }, atMost) => {
        const ticks = niceTicks(min, max, atMost)
        const slack = ticks.step * 1e-6
        expect(ticks.values.length).toBeLessThanOrEqual(atMost)
        const mantissa = ticks.step / 10 ** Math.floor(Math.log10(ticks.step) + 1e-9)
        expect([1, 2, 5].some((one) => Math.abs(one - mantissa) < 1e-6)).toBe(true)
        ticks.values.forEach((value, index) => {
          expect(value).toBeGreaterThanOrEqual(min - slack)
          expect(value).toBeLessThanOrEqual(max + slack)
          expect(Math.abs(value / ticks.step - Math.round(value / ticks.step))).toBeLessThan(1e-4)
          if (index > 0) expect(value - (ticks.values[index - 1] as number)).toBeCloseTo(ticks.step, 4)
        })
      }),
    )
  })

  test('read back as the values they stand at', () => {
    fc.assert(
      fc.property(range, ({ min, max }) => {
        const ticks = niceTicks(min, max, 8)
        ticks.labels.forEach((label, index) => {
          expect(Number(label.replace('\u2212', '-'))).toBe(ticks.values[index])
        })
        expect(new Set(ticks.labels).size).toBe(ticks.labels.length)
      }),
    )
  })

  test('worked by hand', () => {
    expect(niceTicks(0, 1, 6).labels).toEqual(['0.0', '0.2', '0.4', '0.6', '0.8', '1.0'])
    expect(niceTicks(-250, 250, 6).labels).toEqual(['−200', '−100', '0', '100', '200'])
    expect(niceTicks(8.5, 63.2, 7).values).toEqual([10, 20, 30, 40, 50, 60])
    expect(niceTicks(0, 0.003, 4).labels).toEqual(['0.000', '0.001', '0.002', '0.003'])
    expect(niceStep(0.3)).toBe(0.5)
    expect(niceStep(0.1 + 0.2)).toBe(0.5)
    expect(niceStep(0.1 * 2)).toBe(0.2)
    expect(digitsOfStep(0.05)).toBe(2)
    expect(digitsOfStep(50)).toBe(0)
  })

  test('of time: seconds in short spans, minutes in long ones', () => {
    expect(timeTicks(0, 10, 6).labels).toEqual(['0 s', '2 s', '4 s', '6 s', '8 s', '10 s'])
    expect(timeTicks(1, 1.4, 5).labels).toEqual(['1.0 s', '1.1 s', '1.2 s', '1.3 s', '1.4 s'])
    expect(timeTicks(0, 300, 6).labels).toEqual(['0:00', '1:00', '2:00', '3:00', '4:00', '5:00'])
    expect(timeTicks(0, 60, 5).labels).toEqual(['0 s', '15 s', '30 s', '45 s', '60 s'])
    expect(timeTicks(-130, 20, 4).labels).toEqual(['−2:00', '−1:00', '0:00'])
  })

  test('refuse what is no range', () => {
    expect(() => niceTicks(1, 1, 5)).toThrow('no range: 1 to 1')
    expect(() => niceTicks(0, Number.NaN, 5)).toThrow('no range: 0 to NaN')
    expect(() => niceTicks(0, 1, 1)).toThrow('at least two ticks are needed: 1')
    expect(() => niceStep(0)).toThrow('step must be positive: 0')
  })

  test('a nice range holds its values and is at most twice as wide and a step', () => {
    fc.assert(
      fc.property(range, ({ min, max }) => {
        const nice = niceRange(min, max, 5)
        const slack = nice.ticks.step * 1e-6
        expect(nice.min).toBeLessThanOrEqual(min + slack)
        expect(nice.max).toBeGreaterThanOrEqual(max - slack)
        expect(nice.max - nice.min).toBeLessThanOrEqual(max - min + 2 * nice.ticks.step + slack)
        expect(nice.ticks.values[0]).toBeCloseTo(nice.min, 6)
        expect(nice.ticks.values.at(-1)).toBeCloseTo(nice.max, 6)
      }),
    )
  })
})

describe('numbers', () => {
  test('have fixed digits, a real minus sign and no negative zero', () => {
    expect(formatFixed(-3.14159, 2)).toBe('\u22123.14')
    expect(formatFixed(-0.04, 1)).toBe('0.0')
    expect(formatFixed(12, 0)).toBe('12')
    expect(formatFixed(Number.NaN, 1)).toBe('\u2013')
    expect(formatFixed(Number.POSITIVE_INFINITY, 1)).toBe('\u2013')
  })

  test('that are differences carry their sign, but zero has none', () => {
    expect(formatSigned(2.06, 1)).toBe('+2.1')
    expect(formatSigned(-2.06, 1)).toBe('\u22122.1')
    expect(formatSigned(0.04, 1)).toBe('0.0')
    expect(formatSigned(-0.04, 1)).toBe('0.0')
  })

  test('of minutes', () => {
    expect(formatMinutes(150)).toBe('2:30')
    expect(formatMinutes(59.6)).toBe('1:00')
    expect(formatMinutes(-5)).toBe('\u22120:05')
    expect(formatMinutes(-0.2)).toBe('0:00')
  })
})
