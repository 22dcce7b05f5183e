import { describe, expect, test } from 'vitest'
import { STRIP_STEPS, StripGatherer } from '../../../workers/flight/activity-strip.ts'

const ROWS = STRIP_STEPS * 10
const time_s = Float64Array.from({ length: ROWS }, (_, row) => row / 100)
const flat = (value: number) => new Float32Array(ROWS).fill(value)

describe('the activity strip', () => {
  test('turning is the root of the summed mean squares of the axes: 3, 4 and 12 make 13', () => {
    const strip = new StripGatherer(time_s)
    strip.add('gyro.roll', flat(3))
    strip.add('gyro.pitch', flat(-4))
    strip.add('gyro.yaw', flat(12))
    strip.add('throttle', flat(0.425))
    expect(strip.strip()).toEqual({
      power_percent: new Array(STRIP_STEPS).fill(43),
      powerFrom: 'throttle',
      turn_dps: new Array(STRIP_STEPS).fill(13),
    })
  })

  test('a sine has 1/sqrt(2) of its amplitude in every step of whole periods', () => {
    const strip = new StripGatherer(time_s)
    strip.add(
      'gyro.roll',
      Float32Array.from(time_s, (_, row) => 100 * Math.sin((2 * Math.PI * row) / 10)),
    )
    for (const turn of strip.strip().turn_dps ?? []) expect(turn).toBeCloseTo(100 / Math.SQRT2, 1)
  })

  test('places what happens where it happens, and says null where nothing was logged', () => {
    const strip = new StripGatherer(time_s)
    strip.add(
      'throttle',
      Float32Array.from(time_s, (_, row) => (row >= ROWS / 2 ? (row < ROWS * 0.75 ? 1 : NaN) : 0)),
    )
    const { power_percent, turn_dps } = strip.strip()
    const expected = (step: number) => (step < STRIP_STEPS / 2 ? 0 : step < STRIP_STEPS * 0.75 ? 100 : null)
    expect(power_percent?.slice(0, -1)).toEqual(
      Array.from({ length: STRIP_STEPS - 1 }, (_, step) => expected(step)),
    )
    expect(turn_dps).toBeNull()
  })

  test('takes the mean of the motors where there is no throttle', () => {
    const strip = new StripGatherer(time_s)
    for (const [index, level] of [0.2, 0.4, 0.6, 0.8].entries()) strip.add(`motor.${index + 1}`, flat(level))
    expect(strip.strip()).toMatchObject({
      powerFrom: 'motors',
      power_percent: new Array(STRIP_STEPS).fill(50),
    })
  })

  test('steps are of time, not of rows, unless the clock stands still', () => {
    // Half of the rows lie in the first tenth of the time.
    const uneven = Float64Array.from({ length: 1000 }, (_, row) =>
      row < 500 ? row / 500 : 1 + (row - 500) * 0.018,
    )
    const strip = new StripGatherer(uneven)
    strip.add(
      'throttle',
      Float32Array.from(uneven, (_, row) => (row < 500 ? 1 : 0)),
    )
    expect(strip.strip().power_percent?.filter((power) => power === 100)).toHaveLength(4)
    const still = new StripGatherer(new Float64Array(1000))
    still.add(
      'throttle',
      Float32Array.from({ length: 1000 }, (_, row) => (row < 500 ? 1 : 0)),
    )
    expect(still.strip().power_percent?.filter((power) => power === 100)).toHaveLength(STRIP_STEPS / 2)
  })

  test('refuses a column of another length', () => {
    expect(() => new StripGatherer(time_s).add('throttle', new Float32Array(3))).toThrow(/3 values for 480/)
  })
})
