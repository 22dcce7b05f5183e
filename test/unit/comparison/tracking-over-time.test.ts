/** Tracking error and lag in sliding windows, and the lag told in two ways (method.md section 4). */
import { describe, expect, test } from 'vitest'
import { lagTwice, trackingOverTime } from '../../../workers/comparison/tracking-over-time.ts'
import type { FlightSignals } from '../../../workers/flight/signals.ts'

const RATE_HZ = 1000
const COUNT = 40_000

/** A setpoint and a gyro that follows `delay_s` later; three seconds are lost before row `gap`, where it is given. */
function flight(setpointAt: (t_s: number) => number, delay_s: number, gap = COUNT): FlightSignals {
  const t_s = Float64Array.from({ length: COUNT }, (_, n) => n / RATE_HZ + (n >= gap ? 3 : 0))
  return {
    t_s,
    rate_hz: (COUNT - 1) / t_s.at(-1)!,
    channels: {
      'setpoint.roll': Float32Array.from(t_s, setpointAt),
      'gyro.roll': Float32Array.from(t_s, (t) => setpointAt(t - delay_s)),
    },
  }
}
const sine = (t_s: number) => 500 * Math.sin(2 * Math.PI * 2 * t_s)
/** Many frequencies at once, as sticks have them. */
const sticks = (t_s: number) =>
  [0.4, 0.9, 1.7, 2.9, 4.3, 6.1, 7.7].reduce(
    (sum, f, k) => sum + (60 - 6 * k) * Math.sin(2 * Math.PI * f * t_s + k),
    0,
  )

describe('tracking error over time', () => {
  test('of a delayed sine is sqrt2 A sin(pi f d): 44.400 deg/s for 500 deg/s, 2 Hz and 10 ms (method.md section 4)', () => {
    const found = trackingOverTime(flight(sine, 0.01), 'roll', 0, 40)
    if (found.kind === 'refused') throw new Error(found.reason)
    expect(found.t_s.length).toBeGreaterThan(150)
    // Windows of a second hold two whole periods; the first one holds the sine's start as well.
    found.rms_dps.forEach((rms) => expect(Math.abs(rms - 44.4)).toBeLessThan(0.01))
    found.bias_dps.forEach((bias) => expect(Math.abs(bias)).toBeLessThan(0.05))
    // The lag of each window of four seconds.
    expect(found.lagT_s.length).toBeGreaterThan(15)
    found.lag_ms.forEach((lag) => expect(Math.abs(lag - 10)).toBeLessThan(0.1))
  })

  test('stands where the stamps say, and is empty over a gap', () => {
    const gap = 20_000
    const found = trackingOverTime(flight(sticks, 0.01, gap), 'roll', 0, 60)
    if (found.kind === 'refused') throw new Error(found.reason)
    const empty = [...found.t_s.keys()].filter((window) => Number.isNaN(found.rms_dps[window]))
    // One second of windows, a quarter apart, reaches over the gap at 20 s.
    expect(empty.length).toBeGreaterThanOrEqual(3)
    expect(empty.length).toBeLessThanOrEqual(5)
    for (const window of empty) expect(Math.abs(found.t_s[window]! - 20)).toBeLessThan(3.6)
    expect(found.t_s.at(-1)!).toBeGreaterThan(42)
  })

  test('says what is missing', () => {
    const { channels, ...rest } = flight(sticks, 0.01)
    expect(
      trackingOverTime({ ...rest, channels: { 'gyro.roll': channels['gyro.roll']! } }, 'roll', 0, 9),
    ).toMatchObject({
      reason: 'The log holds no setpoint for this axis.',
    })
    expect(trackingOverTime({ ...rest, channels }, 'yaw', 0, 9)).toMatchObject({
      reason: 'The log holds no gyro for this axis.',
    })
    expect(trackingOverTime({ ...rest, channels }, 'roll', 0, 0.5)).toMatchObject({
      reason: 'The span is shorter than a second.',
    })
  })
})

describe('lag told in two ways', () => {
  test('agrees for a pure delay', () => {
    const { lag, byPhase } = lagTwice(flight(sticks, 0.0137), 'roll', 0, 40)
    if (lag.kind === 'refused' || byPhase.kind === 'refused') throw new Error('refused')
    expect(Math.abs(lag.value - 13.7)).toBeLessThan(0.1)
    // Few tones leak into each other in segments of two seconds.
    expect(Math.abs(byPhase.value - 13.7)).toBeLessThan(0.5)
    expect(byPhase.cautions).toEqual([])
    expect([lag.unit, byPhase.unit]).toEqual(['ms', 'ms'])
  })

  test('the same reason for both where there is none', () => {
    const { lag, byPhase } = lagTwice(
      flight(() => 0, 0.01),
      'roll',
      0,
      40,
    )
    expect(lag).toMatchObject({ kind: 'refused', reason: expect.stringMatching(/does not move/) as string })
    expect(byPhase).toMatchObject({ kind: 'refused' })
  })
})
