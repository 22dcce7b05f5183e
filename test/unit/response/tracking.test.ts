import { describe, expect, test } from 'vitest'
import { rms, trackingError } from '../../../workers/response/tracking.ts'
import { noSharedData, quadFlight, randomInput } from '../signal/series.ts'

describe('tracking error', () => {
  const setpoint = randomInput(1, 1000).map((value) => 400 * value)
  const gyro = randomInput(2, 1000).map((value) => 380 * value + 5)

  test('is zero when the gyro is the setpoint, and the bias when it is a shifted setpoint', () => {
    expect(trackingError(setpoint, setpoint)).toEqual({ rms_dps: 0, bias_dps: 0, n: 1000 })
    const late = trackingError(
      setpoint,
      setpoint.map((value) => value - 7),
    )
    expect(late.rms_dps).toBeCloseTo(7, 10)
    expect(late.bias_dps).toBeCloseTo(7, 10)
  })

  test('splits into offset, spread and missing correlation (Theil, Murphy [from memory])', () => {
    const mean = (x: Float64Array) => x.reduce((sum, value) => sum + value, 0) / x.length
    const deviation = (x: Float64Array) => Math.sqrt(mean(x.map((value) => (value - mean(x)) ** 2)))
    const sx = deviation(setpoint)
    const sy = deviation(gyro)
    const r = mean(setpoint.map((value, n) => (value - mean(setpoint)) * (gyro[n]! - mean(gyro)))) / (sx * sy)
    const parts = (mean(setpoint) - mean(gyro)) ** 2 + (sx - sy) ** 2 + 2 * (1 - r) * sx * sy
    expect(trackingError(setpoint, gyro).rms_dps ** 2 / parts).toBeCloseTo(1, 12)
  })

  // Closed form: RMS = sqrt2 A |sin(pi f d)|.
  test('of a sine of 500 deg/s at 2 Hz that comes 10 ms late is 44.400', () => {
    const sine = (late: number) =>
      Float64Array.from({ length: 4000 }, (_, n) => 500 * Math.sin(2 * Math.PI * 2 * (n / 2000 - late)))
    expect(trackingError(sine(0), sine(0.01)).rms_dps).toBeCloseTo(44.4, 3)
  })

  test('leaves out pairs without both values', () => {
    expect(trackingError([1, NaN, 3, Infinity], [0, 0, 1, 0])).toEqual({
      rms_dps: Math.sqrt(2.5),
      bias_dps: 1.5,
      n: 2,
    })
    expect(trackingError([NaN], [1])).toEqual({ rms_dps: NaN, bias_dps: NaN, n: 0 })
    expect(() => trackingError([1, 2], [1])).toThrow('2 and 1')
  })
})

describe('rms', () => {
  test('of a sine is amplitude / sqrt2, of nothing NaN', () => {
    expect(
      rms(Float64Array.from({ length: 1000 }, (_, n) => 3 * Math.sin((2 * Math.PI * n) / 100))),
    ).toBeCloseTo(3 / Math.SQRT2, 12)
    expect(rms([3, NaN, -4, Infinity])).toBeCloseTo(Math.sqrt(12.5), 12)
    expect(rms([NaN])).toBeNaN()
  })

  // Shared data's README, computed with SciPy 1.10, rad/s.
  test.skipIf(noSharedData).each([
    ['gains-original.csv', 0.391033, 0.473105, 0.143141],
    ['gains-i0-d4.csv', 0.362009, 0.443031, 0.140414],
  ])('%s: gyro RMS', (file, roll, pitch, yaw) => {
    const flight = quadFlight(file)
    const of = (axis: string) => rms(flight.column(`real_rate.${axis}`))
    expect(Math.abs(of('r') / roll - 1)).toBeLessThan(1e-5)
    expect(Math.abs(of('p') / pitch - 1)).toBeLessThan(1e-5)
    expect(Math.abs(of('y') / yaw - 1)).toBeLessThan(1e-5)
  })
})
