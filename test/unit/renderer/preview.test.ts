import { describe, expect, test } from 'vitest'
import { pathOf, traceInWords, traceOf } from '../../../renderer/logbook/preview.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'

const as = (role: Assignment['role'], unit: Assignment['unit'], sign: 1 | -1 = 1): Assignment => ({
  role,
  column: 0,
  name: 'x',
  unit,
  sign,
  sure: 'certain',
  setBy: 'pilot',
  how: '',
})

describe('the preview of a column', () => {
  const ramp = Float64Array.from({ length: 100 }, (_, row) => row / 50 - 0.5)

  test('is in canonical units, and follows unit and sign', () => {
    const plain = traceOf(ramp, as('gyro.roll', 'dps'), 10)!
    expect([plain.min, plain.max]).toEqual([-0.5, Math.fround(1.48)])
    const rad = traceOf(ramp, as('gyro.roll', 'radps'), 10)!
    expect(rad.max).toBeCloseTo((1.48 * 180) / Math.PI, 3)
    expect(traceInWords(rad, as('gyro.roll', 'radps'), 100)).toBe('−28.6 to 84.8 deg/s')
    const reversed = traceOf(ramp, as('gyro.roll', 'dps', -1), 10)!
    expect([reversed.min, reversed.max]).toEqual([Math.fround(-1.48), 0.5])
    expect(reversed.steps).toEqual(plain.steps.map((step) => ({ min: -step!.max, max: -step!.min })))
  })

  test('tells a clock by its length and rate, from the first stamp on', () => {
    const stamps = Float64Array.from({ length: 101 }, (_, row) => 1.7e15 + row * 500)
    const clock = as('time', 'us')
    expect(traceInWords(traceOf(stamps, clock, 10)!, clock, 101)).toBe('0.05 s for 101 rows, 2000 Hz')
    const wrong = as('time', 'ms')
    expect(traceInWords(traceOf(stamps, wrong, 10)!, wrong, 101)).toBe('50 s for 101 rows, 2 Hz')
    expect(traceInWords(traceOf(new Float64Array(9), clock, 3)!, clock, 9)).toBe('stands still')
  })

  test('says sticks, throttle and motors in percent, rates and volts in their units', () => {
    const stick = as('stick.roll', 'share')
    expect(traceInWords(traceOf(Float64Array.of(-0.5, 0.25), stick, 2)!, stick, 2)).toBe('−50 to 25 %')
    const unfiltered = as('unfiltered.yaw', 'dps')
    expect(traceInWords(traceOf(Float64Array.of(-45, 47.3), unfiltered, 2)!, unfiltered, 2)).toBe(
      '−45 to 47.3 deg/s',
    )
    const battery = as('battery', 'volt')
    expect(traceInWords(traceOf(Float64Array.of(14, 16.8), battery, 2)!, battery, 2)).toBe('14 to 16.8 V')
    const pulses = Float64Array.from([1000, 1500, 2000])
    expect(traceInWords(traceOf(pulses, as('throttle', 'pulseUs'), 3)!, as('throttle', 'pulseUs'), 3)).toBe(
      '0 to 100 %',
    )
  })

  test('leaves gaps where there is no number, and is null when there is none at all', () => {
    const gap = Float64Array.from([1, NaN, 2, 3])
    const trace = traceOf(gap, as('gyro.roll', 'dps'), 4)!
    expect(trace.steps[1]).toBeNull()
    expect(pathOf(trace, 1, 3, 10)).toBe('M0 10.0M2 5.0L3 0.0')
    expect(traceOf(new Float64Array(5).fill(NaN), as('gyro.roll', 'dps'), 4)).toBeNull()
  })
})
