import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { PITCH_SIDE, ROLL_SIDE, YAW_SIDE } from '../../../workers/model/craft.ts'
import { mix } from '../../../workers/model/mixer.ts'

const out = new Float64Array(4)
const along = (side: readonly number[]) =>
  out.reduce((sum, command, motor) => sum + (command * side[motor]!) / 4, 0)

describe('the mixer', () => {
  test('gives each axis what it asked for while the motors have room', () => {
    expect(mix(0.5, Float64Array.of(0.1, -0.05, 0.02), 0.05, 1, out)).toBe(1)
    expect(along(ROLL_SIDE)).toBeCloseTo(0.1, 12)
    expect(along(PITCH_SIDE)).toBeCloseTo(-0.05, 12)
    expect(along(YAW_SIDE)).toBeCloseTo(0.02, 12)
    expect(along([1, 1, 1, 1])).toBeCloseTo(0.05 + 0.5 * 0.95, 12)
  })

  test('at full throttle the throttle gives way, not the demand', () => {
    expect(mix(1, Float64Array.of(0.2, 0, 0), 0.05, 1, out)).toBe(1)
    expect(along(ROLL_SIDE)).toBeCloseTo(0.2, 12)
    expect(Math.max(...out)).toBe(1)
  })

  test('a demand wider than the range is scaled down to it', () => {
    const scale = mix(0.4, Float64Array.of(0.7, 0, 0), 0.05, 1, out)
    expect(scale).toBeCloseTo(0.95 / 1.4, 12)
    expect(Math.min(...out)).toBeCloseTo(0.05, 12)
    expect(Math.max(...out)).toBeCloseTo(1, 12)
  })

  test("never leaves the motors' range, and keeps the proportions between axes", () => {
    const demand = fc.double({ min: -3, max: 3, noNaN: true })
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.tuple(demand, demand, demand),
        (throttle, [roll, pitch, yaw]) => {
          const scale = mix(throttle, Float64Array.of(roll, pitch, yaw), 0.05, 0.9, out)
          for (const command of out) {
            expect(command).toBeGreaterThanOrEqual(0.05)
            expect(command).toBeLessThanOrEqual(0.9)
          }
          expect(along(ROLL_SIDE)).toBeCloseTo(scale * roll, 9)
          expect(along(PITCH_SIDE)).toBeCloseTo(scale * pitch, 9)
          expect(along(YAW_SIDE)).toBeCloseTo(scale * yaw, 9)
        },
      ),
    )
  })
})
