import { describe, expect, test } from 'vitest'
import {
  estimateSetpoint,
  fitRateCurve,
  rateOf,
  type RateCurve,
} from '../../../workers/columns/rate-curve.ts'
import { seeded } from './invented-flight.ts'

const RATE_HZ = 500
const truth = (s: number): number => 200 * s + 500 * s ** 3

/** A stick that is moved and held, and a gyro that follows the true curve 12 ms late with noise. */
function flown(noise_dps: number, size = 1): { stick: Float32Array; gyro: Float32Array } {
  const random = seeded(3)
  const stick = new Float32Array(30_000)
  const gyro = new Float32Array(stick.length)
  let held = 0
  let position = 0
  let filtered = 0
  for (let row = 0; row < stick.length; row += 1) {
    if (row % 250 === 0) held = (2 * random() - 1) * size
    position += Math.max(-0.01, Math.min(0.01, held - position))
    stick[row] = position
    filtered += (truth(stick[Math.max(0, row - 3)] as number) - filtered) * 0.3
    gyro[row] = filtered + noise_dps * (random() + random() - 1)
  }
  return { stick, gyro }
}

describe('a setpoint estimated from the stick', () => {
  test('recovers the curve behind the gyro within 2 % of full rate', () => {
    const { stick, gyro } = flown(10)
    const curve = fitRateCurve(stick, gyro, RATE_HZ) as RateCurve
    expect(curve.stretches).toBeGreaterThan(100)
    expect(curve.reach).toBeGreaterThan(0.9)
    for (const s of [-0.9, -0.5, 0, 0.3, 0.7]) expect(Math.abs(rateOf(curve, s) - truth(s))).toBeLessThan(14)
    expect(curve.residual_dps).toBeLessThan(10)
  })

  test('laws: odd, and it scales with the gyro', () => {
    const { stick, gyro } = flown(5)
    const curve = fitRateCurve(stick, gyro, RATE_HZ) as RateCurve
    const double = fitRateCurve(
      stick,
      gyro.map((rate) => 2 * rate),
      RATE_HZ,
    ) as RateCurve
    for (const s of [0.1, 0.6, 1]) {
      expect(rateOf(curve, -s)).toBeCloseTo(-rateOf(curve, s), 9)
      expect(rateOf(double, s)).toBeCloseTo(2 * rateOf(curve, s), 3)
    }
    const setpoint = estimateSetpoint(curve, stick)
    expect(setpoint[1234]).toBe(Math.fround(rateOf(curve, stick[1234] as number)))
  })

  test('goes on straight beyond what was seen', () => {
    const { stick, gyro } = flown(5, 0.5)
    const curve = fitRateCurve(stick, gyro, RATE_HZ) as RateCurve
    const first = rateOf(curve, 0.8) - rateOf(curve, 0.7)
    expect(rateOf(curve, 0.9) - rateOf(curve, 0.8)).toBeCloseTo(first, 6)
  })

  test('refuses a stick at rest, a gyro that does not follow, one that runs the other way', () => {
    const { stick, gyro } = flown(5)
    const random = seeded(9)
    expect(
      fitRateCurve(
        stick.map(() => 0),
        gyro,
        RATE_HZ,
      ),
    ).toBeNull()
    expect(
      fitRateCurve(
        stick,
        gyro.map(() => 100 * random()),
        RATE_HZ,
      ),
    ).toBeNull()
    expect(
      fitRateCurve(
        stick,
        gyro.map((rate) => -rate),
        RATE_HZ,
      ),
    ).toBeNull()
    expect(
      fitRateCurve(
        stick.map((s) => s / 10),
        gyro,
        RATE_HZ,
      ),
    ).toBeNull()
  })
})
