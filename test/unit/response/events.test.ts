import { describe, expect, test } from 'vitest'
import {
  composed,
  inverse,
  turned,
  turnVector_deg,
  type Quaternion,
} from '../../../workers/response/attitude.ts'
import { findWashEvents, washBand, washScore } from '../../../workers/response/prop-wash.ts'
import { lagTrace, trackingTrace } from '../../../workers/response/sliding.ts'
import { trackingError } from '../../../workers/response/tracking.ts'
import { findThrottleSteps, throttleDrift } from '../../../workers/response/throttle-steps.ts'
import { normalInput, randomInput } from '../signal/series.ts'
import { flownFlight, LOG_HZ } from './loop.ts'

const still = (count: number) => ({
  roll: new Float64Array(count),
  pitch: new Float64Array(count),
  yaw: new Float64Array(count),
})

describe('attitude', () => {
  test('a steady rate about one axis turns by rate times time', () => {
    const rates = { ...still(500), pitch: new Float64Array(500).fill(90) }
    expect(turnVector_deg(turned(rates, 0, 500, 500)).pitch).toBeCloseTo(90, 9)
    expect(turnVector_deg(turned(rates, 100, 350, 500)).pitch).toBeCloseTo(45, 9)
  })

  test('a quarter roll, then a quarter pitch, is a third of a turn about all three axes', () => {
    const rates = still(2000)
    rates.roll.fill(90, 0, 1000)
    rates.pitch.fill(90, 1000, 2000)
    const turn = turnVector_deg(turned(rates, 0, 2000, 1000))
    expect(Math.hypot(turn.roll, turn.pitch, turn.yaw)).toBeCloseTo(120, 6)
    for (const axis of ['roll', 'pitch', 'yaw'] as const)
      expect(turn[axis]).toBeCloseTo(120 / Math.sqrt(3), 6)
  })

  test('a turn and the turn back are no turn', () => {
    const rates = { roll: randomInput(1, 900), pitch: randomInput(2, 900), yaw: randomInput(3, 900) }
    for (const series of Object.values(rates)) series.forEach((value, n) => (series[n] = 600 * value))
    const turn: Quaternion = turned(rates, 0, 900, 100)
    const none = turnVector_deg(composed(turn, inverse(turn)))
    expect(Math.hypot(none.roll, none.pitch, none.yaw)).toBeLessThan(1e-9)
  })
})

describe('throttle steps', () => {
  const rate_hz = 1000
  const throttle = new Float64Array(6000).fill(0.3)
  for (let n = 2000; n < 6000; n++) throttle[n] = Math.min(0.8, 0.3 + (n - 2000) / 200)
  for (let n = 4000; n < 6000; n++) throttle[n] = Math.max(0.2, 0.8 - (n - 4000) / 200)

  test('punches and chops are found at their beginning', () => {
    const steps = findThrottleSteps(throttle, rate_hz)
    expect(steps.map(({ kind }) => kind)).toEqual(['punch', 'chop'])
    expect(Math.abs(steps[0]!.start - 2000)).toBeLessThanOrEqual(10)
    expect(Math.abs(steps[1]!.start - 4000)).toBeLessThanOrEqual(10)
  })

  test('a slow climb, and a step out of unrest, are none', () => {
    expect(
      findThrottleSteps(
        throttle.map((_, n) => n / 6000),
        rate_hz,
      ),
    ).toEqual([])
    expect(
      findThrottleSteps(
        throttle.map((value, n) => value + 0.1 * Math.sin(n / 20)),
        rate_hz,
      ),
    ).toEqual([])
  })

  // Closed form: 10 deg/s for 0.3 s are 3.0 deg.
  test('10 deg/s for 0.3 s are 3.0 deg, the steady error before taken off', () => {
    const [step] = findThrottleSteps(throttle, rate_hz)
    const gyro = still(6000)
    gyro.roll.fill(2)
    for (let n = step!.start; n < 6000; n++) gyro.roll[n] = 12
    const drift = throttleDrift(step!, gyro, still(6000), rate_hz)!
    expect(drift.drift_deg.roll).toBeCloseTo(3, 9)
    expect(drift.drift_deg.pitch).toBeCloseTo(0, 9)
    expect(drift.error_deg.roll).toBeCloseTo(0, 9)
  })

  test('a roll that the setpoint asks for is no drift, however far', () => {
    const [step] = findThrottleSteps(throttle, rate_hz)
    const flown = still(6000)
    for (let n = step!.start; n < step!.start + 300; n++) {
      flown.roll[n] = 900
      flown.pitch[n] = 200
    }
    const same = throttleDrift(step!, flown, flown, rate_hz)!
    for (const axis of ['roll', 'pitch', 'yaw'] as const) expect(same.drift_deg[axis]).toBeCloseTo(0, 6)
    const holed = { ...flown, yaw: new Float64Array(6000).fill(NaN) }
    expect(throttleDrift(step!, holed, flown, rate_hz)).toBeNull()
  })
})

describe('prop wash', () => {
  const rate_hz = 1000
  /** Throttle that drops and opens again every 10 s. */
  const throttle = Float64Array.from({ length: 60_000 }, (_, n) => {
    const t = (n / rate_hz) % 10
    if (t < 5) return 0.5
    if (t < 5.2) return 0.5 - 2 * (t - 5)
    if (t < 6) return 0.1
    if (t < 6.2) return 0.1 + 3 * (t - 6)
    return t < 7 ? 0.7 : 0.5
  })
  const events = findWashEvents(throttle, rate_hz)
  const noise = normalInput(2, 60_000)

  test('events stand where the throttle opens after a drop', () => {
    expect(events.length).toBe(6)
    events.forEach(({ start, end }, k) => {
      expect(Math.abs(start / rate_hz - (10 * k + 6))).toBeLessThan(0.02)
      expect(end - start).toBe(500)
    })
    expect(findWashEvents(new Float64Array(5000).fill(0.4), rate_hz)).toEqual([])
  })

  test('the score is the excess of power in the band, in dB', () => {
    const shaken = noise.map((value, n) => {
      const within = events.some(({ start, end }) => n >= start && n < end)
      return value * (within ? 4 : 1)
    })
    const band = washBand(shaken, rate_hz, events)
    const scores = events.map((event) => washScore(band, event))
    let mean = 0
    for (const score of scores) {
      if (score.kind === 'refused') throw new Error(score.reason)
      mean += score.value / scores.length
      expect(score.interval!.high - score.interval!.low).toBeCloseTo(10 * Math.log10(49.48 / 18.29), 1)
    }
    // Twelve dB less what the filter smears out at the ends; the baseline is a median, 0.3 dB below the mean.
    expect(Math.abs(mean - 12)).toBeLessThan(1.5)
  })

  test('the interval holds an event without wash in about 95 of 100 cases', () => {
    let inside = 0
    let all = 0
    for (let seed = 0; seed < 20; seed++) {
      const band = washBand(normalInput(50 + 101 * seed, 60_000), rate_hz, events)
      for (const event of events) {
        const score = washScore(band, event)
        if (score.kind === 'refused') throw new Error(score.reason)
        all++
        if (score.interval!.low <= 0 && score.interval!.high >= 0) inside++
      }
    }
    expect(inside / all).toBeGreaterThan(0.88)
  })

  test('does not change with scale, and refuses without a baseline', () => {
    const one = washScore(washBand(noise, rate_hz, events), events[0]!)
    const ten = washScore(
      washBand(
        noise.map((value) => 10 * value),
        rate_hz,
        events,
      ),
      events[0]!,
    )
    if (one.kind === 'refused' || ten.kind === 'refused') throw new Error('refused')
    expect(ten.value).toBeCloseTo(one.value, 9)
    const short = washScore(washBand(noise.subarray(0, 7000), rate_hz, events.slice(0, 1)), events[0]!)
    expect(short.kind).toBe('given')
    const none = washScore(
      washBand(noise.subarray(5500, 7500), rate_hz, [{ ...events[0]!, start: 500, end: 1000 }]),
      {
        ...events[0]!,
        start: 500,
        end: 1000,
      },
    )
    expect(none.kind === 'refused' && none.reason).toContain('too little quiet')
  })

  test('finds the dives that the simulator flew', () => {
    const flight = flownFlight(3)
    const dives = flight.manoeuvres.filter(({ kind }) => kind === 'wash dive')
    expect(dives.length).toBeGreaterThan(2)
    const found = findWashEvents(flight.throttle, LOG_HZ).map(({ start }) => flight.t_s[start]!)
    for (const dive of dives) {
      expect(found.some((t) => t >= dive.start_s - 0.2 && t <= dive.end_s + 0.2)).toBe(true)
    }
  })
})

describe('sliding windows', () => {
  const setpoint = normalInput(1, 5000)
  const gyro = normalInput(2, 5000)
  gyro.fill(NaN, 1000, 1400)

  test.each([
    [1, 0.25],
    [0.5, 0.5],
    [1, 0.3],
  ])('of %f s every %f s hold what the tracking error of each is', (window_s, hop_s) => {
    const trace = trackingTrace({ setpoint, gyro, rate_hz: 500 }, { window_s, hop_s })
    const size = window_s * 500
    trace.t_s.forEach((t, k) => {
      const start = Math.round(t * 500 - size / 2)
      const direct = trackingError(setpoint.subarray(start, start + size), gyro.subarray(start, start + size))
      if (direct.n < size / 2) expect(trace.rms_dps[k]).toBeNaN()
      else {
        expect(trace.rms_dps[k]).toBeCloseTo(direct.rms_dps, 9)
        expect(trace.bias_dps[k]).toBeCloseTo(direct.bias_dps, 9)
      }
    })
    expect(trace.t_s[0]).toBeCloseTo(window_s / 2, 2)
  })

  test('of lag follow a lag that changes', () => {
    const smooth = (t: number) =>
      80 * Math.sin(9 * t) + 60 * Math.sin(17.3 * t + 1) + 40 * Math.sin(31.7 * t + 2)
    const flown = Float64Array.from({ length: 20_000 }, (_, n) => smooth(n / 500))
    const late = Float64Array.from({ length: 20_000 }, (_, n) => smooth(n / 500 - (n < 10_000 ? 0.01 : 0.03)))
    const trace = lagTrace({ setpoint: flown, gyro: late, rate_hz: 500 })
    expect(trace.lag_s[2]).toBeCloseTo(0.01, 3)
    expect(trace.lag_s[trace.lag_s.length - 2]).toBeCloseTo(0.03, 3)
    const silent = lagTrace({ setpoint: new Float64Array(5000), gyro: flown.subarray(0, 5000), rate_hz: 500 })
    expect(silent.lag_s.every(Number.isNaN)).toBe(true)
  })
})
