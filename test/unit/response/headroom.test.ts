import { describe, expect, test } from 'vitest'
import {
  headroom,
  motorLimits,
  propellerSimilarity,
  torqueLimited,
} from '../../../workers/response/headroom.ts'
import { normalInput } from '../signal/series.ts'

const sine = (from: number, to: number, count = 2000) =>
  Float64Array.from({ length: count }, (_, n) => {
    const value = from + (to - from) * (0.5 + 0.6 * Math.sin(n / 50))
    return Math.round(Math.min(to, Math.max(from, value)) * 2000) / 2000
  })

describe('motor limits', () => {
  test('are found where commands stand, whatever the settings', () => {
    const limits = motorLimits([sine(0.055, 0.5), sine(0.055, 0.5)])
    expect(limits.top).toBeCloseTo(0.5, 7)
    expect(limits.idle).toBeCloseTo(0.055, 7)
    expect(limits.step).toBeCloseTo(0.0005, 7)
  })

  test('count the time of any motor within a step of them', () => {
    const low = new Float64Array(1000).fill(0.3).map((value, n) => value + 0.1 * Math.sin(n))
    const high = low.slice()
    high.fill(1, 100, 150)
    high[200] = 1 - 1 / 4096
    const limits = motorLimits([low, high])
    const share = headroom(limits, 0, 1000)
    expect(share.atTop).toMatchObject({ kind: 'given', value: 5.1, unit: '%' })
    expect(share.atIdle).toMatchObject({ value: 0 })
    expect(headroom(limits, 100, 200).atTop).toMatchObject({ value: 50 })
  })

  test('commands that stand where two looks meet have come to stand once', () => {
    const moving = Float64Array.from({ length: 30_000 }, (_, n) => 0.5 + 0.1 * Math.sin(n))
    // Stretches of 8192 samples are looked through in one go.
    const standing = (places: readonly number[]) => {
      const motor = moving.slice()
      for (const place of places) motor.fill(0.8, place - 2, place + 2)
      return motorLimits([motor]).top
    }
    expect(standing([8192, 16_384])).toBeNull()
    expect(standing([8192, 16_384, 24_576])).toBeCloseTo(0.8, 7)
  })

  test('a single highest sample is no limit', () => {
    const wandering = normalInput(3, 5000).map((value) => 0.5 + 0.08 * value)
    const limits = motorLimits([wandering])
    expect(limits.top).toBeNull()
    expect(limits.idle).toBeNull()
    expect(limits.atTop.some((hit) => hit === 1)).toBe(false)
  })

  test('without motors there is no headroom, and the reason is said', () => {
    const { atTop } = headroom(null, 0, 100)
    expect(atTop.kind === 'refused' && atTop.reason).toContain('No motor columns')
  })
})

describe('torque-limited', () => {
  const rate_hz = 1000
  const atLimit = new Uint8Array(1000).fill(1)
  const noise = normalInput(4, 1000)
  const gyro = Float64Array.from({ length: 1000 }, (_, n) => 0.5 * n + 0.2 * noise[n]!)
  const setpoint = Float64Array.from({ length: 1000 }, (_, n) => 0.9 * n + 50)
  const question = { setpoint, gyro, atLimit, rate_hz, from: 0, to: 1000 }

  test('needs all three: limit, plateau of acceleration, growing demand', () => {
    expect(torqueLimited(question).kind).toBe('torque-limited')
    expect(torqueLimited({ ...question, atLimit: new Uint8Array(1000) })).toMatchObject({
      missing: expect.stringContaining('no motor'),
    })
    expect(torqueLimited({ ...question, setpoint: gyro.map((value) => value - 1) })).toMatchObject({
      missing: expect.stringContaining('demand'),
    })
    const easing = gyro.map((_, n) => 300 * Math.sin(n / 60))
    expect(torqueLimited({ ...question, gyro: easing })).toMatchObject({ kind: 'not shown' })
  })

  test('holds in either direction, and not in a turn at steady rate', () => {
    const turn = (values: Float64Array) => values.map((value) => -value)
    expect(torqueLimited({ ...question, gyro: turn(gyro), setpoint: turn(setpoint) }).kind).toBe(
      'torque-limited',
    )
    const steady = gyro.map((_, n) => 400 + 0.2 * noise[n]!)
    expect(
      torqueLimited({ ...question, gyro: steady, setpoint: setpoint.map((v) => v + 400) }),
    ).toMatchObject({
      missing: expect.stringContaining('plateau'),
    })
  })
})

// Closed forms: from 5 to 6 inch.
test('propellers a fifth wider', () => {
  const { discArea, thrust, torque, speedForSameThrust } = propellerSimilarity(6 / 5)
  expect(discArea).toBeCloseTo(1.44, 12)
  expect(thrust).toBeCloseTo(2.0736, 12)
  expect(torque).toBeCloseTo(2.48832, 12)
  expect(speedForSameThrust).toBeCloseTo(0.6944, 4)
})
