import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { flyingCaution, measureFlight, measureSpan } from '../../../workers/comparison/flight-measures.ts'
import type { ChannelName } from '../../../workers/flight/signals.ts'
import { syntheticFlight } from './synthetic-flight.ts'

describe('measures of a flight', () => {
  test('a pure delay of a sine gives the RMS that the formula says', () => {
    // RMS of A sin(wt) - A sin(w(t-d)) = sqrt2 A |sin(pi f d)|: A 500, 2 Hz, 10 ms: 44.400 (method.md section 4,
    // computed). Whole periods, so that the mean square is exact.
    const flight = syntheticFlight({
      rate_hz: 1000,
      duration_s: 10,
      delay_s: 0.01,
      f_hz: 2,
      amplitude_dps: 500,
    })
    const { roll } = measureFlight(flight, 0, 9.999)
    expect(roll.trackingRms_dps.value).toBeCloseTo(44.4, 1)
    expect(roll.lag_ms.value).toBeCloseTo(10, 1)
    expect(roll.gyroRms_dps.value).toBeCloseTo(500 / Math.SQRT2, 1)
  })

  test('only the span counts', () => {
    const flight = syntheticFlight({ rate_hz: 500, duration_s: 20 })
    const gyro = flight.channels['gyro.roll']!
    gyro.fill(1e6, 0, 2500)
    const { roll } = measureFlight(flight, 5, 20)
    expect(roll.gyroRms_dps.value).toBeLessThan(1000)
    expect(roll.samples).toBe(7500)
  })

  test('what can not be given says why', () => {
    const flight = syntheticFlight({ rate_hz: 500, duration_s: 5 })
    const channels: Partial<Record<ChannelName, Float32Array>> = { ...flight.channels }
    delete channels['setpoint.roll']
    const { roll, pitch } = measureFlight({ ...flight, channels }, 0, 5)
    expect(roll.trackingRms_dps).toEqual({ value: null, reason: 'The log holds no setpoint for this axis.' })
    expect(roll.lag_ms.value).toBeNull()
    expect(roll.gyroRms_dps.value).toBeGreaterThan(0)
    expect(pitch.trackingRms_dps.value).toBeGreaterThan(0)
    expect(measureFlight(flight, 100, 200).yaw.gyroRms_dps.reason).toMatch(/no samples in this span/)
  })

  test('NaN takes no part', () => {
    const whole = syntheticFlight({ rate_hz: 500, duration_s: 10 })
    const holed = syntheticFlight({ rate_hz: 500, duration_s: 10 })
    holed.channels['gyro.pitch']!.fill(NaN, 1000, 1010)
    const a = measureFlight(whole, 0, 10).pitch.trackingRms_dps.value!
    const b = measureFlight(holed, 0, 10).pitch.trackingRms_dps.value!
    expect(Math.abs(a - b) / a).toBeLessThan(0.02)
  })
})

describe('measures of a span of two flights', () => {
  test('swapping the flights mirrors every number', () => {
    fc.assert(
      // Whole samples, and a span that begins between two, so that both ways cut at the same samples.
      fc.property(fc.integer({ min: -600, max: 600 }), (samples) => {
        const offset_s = samples / 200
        const a = syntheticFlight({ rate_hz: 200, duration_s: 12, delay_s: 0.02 })
        const b = syntheticFlight({ rate_hz: 200, duration_s: 12, delay_s: 0.04, seed: 7 })
        const forth = measureSpan(a, b, offset_s, 3.0025, 8.9975)
        const back = measureSpan(b, a, -offset_s, 3.0025 - offset_s, 8.9975 - offset_s)
        expect(back.a).toEqual(forth.b)
        expect(back.b).toEqual(forth.a)
      }),
      { numRuns: 20 },
    )
  })

  test('a harder flown pack is named, a like one is not', () => {
    const a = syntheticFlight({ rate_hz: 200, duration_s: 10, amplitude_dps: 100 })
    const harder = syntheticFlight({ rate_hz: 200, duration_s: 10, amplitude_dps: 160 })
    expect(flyingCaution(measureSpan(a, a, 0, 0, 10))).toBeNull()
    expect(flyingCaution(measureSpan(a, harder, 0, 0, 10))).toMatch(/roll and pitch and yaw/)
  })
})
