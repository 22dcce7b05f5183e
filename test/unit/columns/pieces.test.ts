import { describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { applyAssignment, canonicalTime } from '../../../workers/columns/apply-assignment.ts'
import { derivative, relate, sizeOf, stepsOf } from '../../../workers/columns/evidence.ts'
import { headerKey } from '../../../workers/columns/header-key.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'
import { tokensOf } from '../../../workers/columns/tokens.ts'
import { UNITS } from '../../../workers/units/units.ts'
import { seeded } from './invented-flight.ts'

const assignment = (part: Partial<Assignment>): Assignment => ({
  role: 'gyro.roll',
  column: 0,
  name: 'x',
  unit: 'dps',
  sign: 1,
  sure: 'certain',
  setBy: 'pilot',
  how: 'Said so.',
  ...part,
})

describe('canonical units', () => {
  test('every unit by hand', () => {
    const one = (unit: Assignment['unit'], value: number, sign: 1 | -1 = 1): number =>
      applyAssignment(Float32Array.of(value), assignment({ unit, sign }))[0] as number
    expect(one('radps', Math.PI)).toBeCloseTo(180, 4)
    expect(one('stickUs', 1750)).toBeCloseTo(0.5, 6)
    expect(one('stickUs', 1750, -1)).toBeCloseTo(-0.5, 6)
    expect(one('pulseUs', 1250)).toBeCloseTo(0.25, 6)
    expect(one('bits16', 65535)).toBe(1)
    expect(one('dps', Infinity)).toBeNaN()
    expect(one('dps', NaN)).toBeNaN()
  })

  test('in place gives the same', () => {
    const raw = Float32Array.of(1, 2, -3)
    const apart = applyAssignment(raw, assignment({ unit: 'radps' }))
    expect(Array.from(applyAssignment(raw, assignment({ unit: 'radps' }), raw))).toEqual(Array.from(apart))
    const stamps = Float64Array.of(0, 250, 500)
    const time = assignment({ role: 'time', unit: 'us' })
    expect(Array.from(canonicalTime(stamps, time, stamps))).toEqual([0, 0.00025, 0.0005])
    expect(() => canonicalTime(stamps, assignment({}))).toThrow('not a time column: gyro.roll')
  })
})

describe('the header’s key', () => {
  test('is equal for equal names only', () => {
    const names = fc.array(fc.string(), { maxLength: 8 })
    fc.assert(
      fc.property(names, names, (a, b) => {
        expect(headerKey(a) === headerKey(b)).toBe(JSON.stringify(a) === JSON.stringify(b))
        expect(headerKey(a)).toMatch(/^[0-9a-f]{32}$/)
      }),
    )
    expect(headerKey(['a', 'b'])).not.toBe(headerKey(['b', 'a']))
    expect(headerKey(['a,b'])).not.toBe(headerKey(['a', 'b']))
  })
})

describe('names taken apart', () => {
  test.each([
    ['gyroIMU-rollRate', ['gyro', 'imu', 'roll', 'rate'], null],
    ['Gyroscope X (deg/s)', ['gyroscope', 'x'], 'dps'],
    ['imu.gyro.x_rad_s', ['imu', 'gyro', 'x'], 'radps'],
    ['time/ms', ['time'], 'ms'],
    ['Zeit in µs', ['zeit'], 'us'],
    ['rate[2]', ['rate', '2'], null],
    ['rollratesp', ['roll', 'rate', 'sp'], null],
    ['ROLL_RATE_DPS', ['roll', 'rate'], 'dps'],
    ['ms', ['ms'], 'ms'],
    ['guiñada', ['guinada'], null],
    ['throttle %', ['throttle'], 'percent'],
    ['', [], null],
  ])('%j', (name, words, unit) => {
    expect(tokensOf(name)).toMatchObject({ words, unit })
  })

  test('a unit of another quantity is told', () => {
    expect(tokensOf('pitch (deg)').foreignUnit).toBe(true)
    expect(tokensOf('acc x [g]').foreignUnit).toBe(true)
    expect(tokensOf('pitch', 'deg').foreignUnit).toBe(true)
    expect(tokensOf('pitch', 'deg/s').unit).toBe('dps')
  })
})

describe('evidence', () => {
  const random = seeded(21)
  const rows = 5000
  const cause = Float64Array.from({ length: rows }, () => 0)
  for (let row = 1; row < rows; row += 1) cause[row] = 0.95 * (cause[row - 1] as number) + random() - 0.5
  const late = (lag: number, gain: number): Float64Array =>
    cause.map((_, row) => gain * (cause[Math.max(0, row - lag)] as number))

  test('lag, sign and ratio of a delayed, scaled copy', () => {
    const relation = relate(cause, late(7, -57.3), 400, 20)
    expect(relation?.lagRows).toBe(7)
    expect(relation?.r).toBeCloseTo(-1, 9)
    expect(relation?.ratio).toBeCloseTo(57.3, 6)
  })

  test('does not depend on offsets, and its strength not on scale', () => {
    const noisy = late(3, 2).map((value) => value + random())
    const plain = relate(cause, noisy, 400, 20)
    const moved = relate(
      cause.map((value) => 5 * value + 100),
      noisy.map((value) => value - 1e4),
      400,
      20,
    )
    expect(moved?.r).toBeCloseTo(plain?.r ?? NaN, 6)
    expect(moved?.ratio).toBeCloseTo((plain?.ratio ?? NaN) / 5, 6)
  })

  test('nothing moves, too few rows: null', () => {
    expect(relate(cause, new Float64Array(rows), 400, 20)).toBeNull()
    expect(relate(cause.subarray(0, 100), cause.subarray(0, 100), 400, 20)).toBeNull()
  })

  test('sizes and steps by hand', () => {
    expect(sizeOf(Float64Array.of(3, -4, NaN, Infinity))).toMatchObject({
      rms: Math.sqrt(12.5),
      min: -4,
      max: 3,
      count: 2,
      peak: 3,
    })
    expect(sizeOf(new Float64Array(3).fill(NaN))).toMatchObject({ count: 0, peak: NaN })
    expect(stepsOf(Float64Array.of(1, 2, 2, NaN, 4, 6))).toEqual({ rising: 1, still: 0.25, median: 2 })
    expect(stepsOf(new Float64Array(0))).toEqual({ rising: 0, still: 0, median: NaN })
  })

  test('the slope of an angle that turns over', () => {
    const time_s = Float64Array.from({ length: 100 }, (_, row) => row / 100)
    const angle = time_s.map((t) => ((((t * 400 + 180) % 360) + 360) % 360) - 180)
    for (const slope of derivative(angle, time_s, 360)) expect(slope).toBeCloseTo(400, 6)
    expect(UNITS.radps.scale).toBeCloseTo(57.29577951308232, 12)
  })
})
