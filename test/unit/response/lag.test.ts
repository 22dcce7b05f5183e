import { describe, expect, test } from 'vitest'
import { lag, type Lag, type LagOptions } from '../../../workers/response/lag.ts'
import { phaseSlopeLag } from '../../../workers/response/lag-check.ts'
import { simulateSecondOrder } from '../../../workers/response/second-order.ts'
import { noSharedData, normalInput, quadFlight } from '../signal/series.ts'
import { flownFlight, LOG_HZ } from './loop.ts'

/** A smooth random signal and its exact value at any time, as a sum of sines up to `highest_hz`. */
function smooth(seed: number, highest_hz: number) {
  const count = 60
  const phases = normalInput(seed, count)
  const sizes = normalInput(seed + 1, count)
  return (t: number) => {
    let sum = 0
    for (let k = 0; k < count; k++) {
      sum += sizes[k]! * Math.sin(2 * Math.PI * (((k + 0.37) * highest_hz) / count) * t + phases[k]! * 10)
    }
    return 50 * sum
  }
}

function found(setpoint: ArrayLike<number>, gyro: ArrayLike<number>, options: LagOptions): Lag {
  const result = lag(setpoint, gyro, options)
  if (result.kind !== 'lag') throw new Error(result.reason)
  return result
}

describe('lag', () => {
  const signal = smooth(1, 8)
  const at = (rate_hz: number, count: number, late_s = 0) =>
    Float64Array.from({ length: count }, (_, n) => signal(n / rate_hz - late_s))

  // Required: a true lag of 7.3 samples within 0.05 samples.
  test('of 7.3 samples comes back within 0.05 samples', () => {
    const result = found(at(1000, 8000), at(1000, 8000, 0.0073), { rate_hz: 1000 })
    expect(Math.abs(result.lag_s * 1000 - 7.3)).toBeLessThan(0.05)
    expect(result.r).toBeGreaterThan(0.999)
  })

  test.each([-0.02, -0.0004, 0, 0.0031, 0.12])(
    'of %f s comes back whatever gain, offset and noise',
    (late_s) => {
      const noise = normalInput(7, 8000)
      const gyro = at(1000, 8000, late_s).map((value, n) => 0.8 * value + 30 + 10 * noise[n]!)
      const result = found(at(1000, 8000), gyro, { rate_hz: 1000 })
      expect(Math.abs(result.lag_s - late_s)).toBeLessThan(0.0005)
    },
  )

  test('at a high rate is found as without the first look at means', () => {
    const noise = normalInput(17, 24_000)
    for (const late_s of [0.0036, 0.0151, -0.0077]) {
      const gyro = at(4000, 24_000, late_s).map((value, n) => value + 20 * noise[n]!)
      const fast = found(at(4000, 24_000), gyro, { rate_hz: 4000 })
      expect(Math.abs(fast.lag_s - late_s)).toBeLessThan(0.0003)
      const slow = found(at(4000, 24_000), gyro, { rate_hz: 400 })
      // Ten times slower by name: no first look there, the same samples, ten times the lag.
      expect(slow.lag_s / 10).toBeCloseTo(fast.lag_s, 6)
      expect(slow.r).toBeCloseTo(fast.r, 9)
    }
  })

  test('changes its sign when setpoint and gyro change places', () => {
    const a = at(500, 4000)
    const b = at(500, 4000, 0.017)
    const options = { rate_hz: 500 }
    expect(found(a, b, options).lag_s).toBeCloseTo(-found(b, a, options).lag_s, 12)
  })

  test('takes no notice of NaN', () => {
    const setpoint = at(1000, 8000)
    const gyro = at(1000, 8000, 0.0073)
    setpoint.fill(NaN, 100, 300)
    gyro.fill(NaN, 5000, 5040)
    expect(Math.abs(found(setpoint, gyro, { rate_hz: 1000 }).lag_s - 0.0073)).toBeLessThan(0.0001)
  })

  test('of a slow log with an uneven clock is found finer than its steps', () => {
    const jitter = normalInput(3, 3000)
    const t_s = Float64Array.from({ length: 3000 }, (_, n) => (n + 0.15 * Math.sin(jitter[n]!)) / 100)
    const gyro = t_s.map((t) => signal(t - 0.023))
    const result = found(t_s.map(signal), gyro, { rate_hz: 100, t_s })
    expect(Math.abs(result.lag_s - 0.023)).toBeLessThan(0.0005)
  })

  test('has an interval that holds the truth in about 95 of 100 runs', () => {
    let inside = 0
    const runs = 120
    const setpoint = at(200, 3000)
    for (let run = 0; run < runs; run++) {
      // Noise with a memory: what wind and wash are like.
      const noise = normalInput(5000 + 31 * run, 3000)
      for (let n = 1; n < noise.length; n++) noise[n] = 0.9 * noise[n - 1]! + noise[n]!
      const gyro = at(200, 3000, 0.0216).map((value, n) => value + 60 * noise[n]!)
      const { low_s, high_s } = found(setpoint, gyro, { rate_hz: 200 })
      if (low_s <= 0.0216 && 0.0216 <= high_s) inside++
    }
    expect(inside / runs).toBeGreaterThan(0.88)
    expect(inside / runs).toBeLessThan(0.995)
  })

  test('says when the peak is flat', () => {
    const slow = smooth(4, 0.5)
    const series = (late: number) => Float64Array.from({ length: 4000 }, (_, n) => slow(n / 100 - late))
    expect(found(series(0), series(0.02), { rate_hz: 100 }).flat).toBe(true)
    expect(found(at(1000, 8000), at(1000, 8000, 0.02), { rate_hz: 1000 }).flat).toBe(false)
  })

  test.each([
    ['too little flight', (x: Float64Array) => [x.subarray(0, 40), x.subarray(0, 40)], 'needs more flight'],
    ['a setpoint that stands still', (x: Float64Array) => [x.map(() => 0.1), x], 'setpoint does not move'],
    ['a gyro that stands still', (x: Float64Array) => [x, x.map(() => 3)], 'gyro does not move'],
    ['a gyro of its own mind', (x: Float64Array) => [x, normalInput(8, x.length)], 'too loosely'],
  ])('refuses %s', (_, make, words) => {
    const [setpoint, gyro] = make(at(1000, 8000))
    const result = lag(setpoint!, gyro!, { rate_hz: 1000 })
    expect(result.kind).toBe('refused')
    expect(result.kind === 'refused' && result.reason).toContain(words)
  })

  test('refuses a lag beyond its range', () => {
    const result = lag(at(1000, 8000), at(1000, 8000, 0.05), { rate_hz: 1000, maxLag_s: 0.03 })
    expect(result.kind === 'refused' && result.reason).toContain('30 ms')
  })
})

describe('phase slope', () => {
  const signal = smooth(11, 12)
  const at = (late_s: number) => Float64Array.from({ length: 30_000 }, (_, n) => signal(n / 1000 - late_s))
  const noise = normalInput(5, 30_000)

  test.each([0.0073, 0.031, -0.012])('agrees with the correlation for a pure delay of %f s', (late_s) => {
    const gyro = at(late_s).map((value, n) => value + 30 * noise[n]!)
    const series = { setpoint: at(0), gyro, rate_hz: 1000 }
    const check = phaseSlopeLag(series, found(at(0), gyro, { rate_hz: 1000 }))
    if (check.kind === 'refused') throw new Error(check.reason)
    expect(Math.abs(check.value - 1000 * late_s)).toBeLessThan(0.2)
    expect(check.cautions).toEqual([])
  })

  test('says when the response is more than a delay', () => {
    const answer = new Float64Array(30_000)
    simulateSecondOrder({ gain: 1, natural_radps: 60, damping: 2.5, delay_s: 0 }, at(0), 1000, answer)
    const check = phaseSlopeLag(
      { setpoint: at(0), gyro: answer, rate_hz: 1000 },
      found(at(0), answer, { rate_hz: 1000 }),
    )
    expect(check.cautions.join()).toContain('shape and delay mix')
  })

  test('refuses a short flight', () => {
    const short = { setpoint: at(0).subarray(0, 3000), gyro: at(0.01).subarray(0, 3000), rate_hz: 1000 }
    expect(phaseSlopeLag(short, found(short.setpoint, short.gyro, { rate_hz: 1000 })).kind).toBe('refused')
  })
})

// Required: within 0.1 samples of the truth on the simulator.
describe('lag of a flown setpoint', () => {
  const flight = flownFlight(2)

  test.each([
    ['roll', 0],
    ['pitch', 1],
    ['yaw', 2],
  ])('%s: delays between samples are found within 0.1 samples at three levels of noise', (_, axis) => {
    const setpoint = Float64Array.from(flight.setpoint_dps[axis]!)
    const power = setpoint.reduce((sum, value) => sum + value * value, 0) / setpoint.length
    for (const [index, share] of [0.01, 0.03, 0.1].entries()) {
      const noise = normalInput(31 + index, setpoint.length)
      for (const delay of [3.3, 7.3, 18.75]) {
        const gyro = setpoint.map((value, n) => {
          const from = n - delay
          const whole = Math.floor(from)
          if (whole < 0) return value
          const part = from - whole
          const clean = (1 - part) * setpoint[whole]! + part * setpoint[whole + 1]!
          return clean + share * Math.sqrt(power) * noise[n]!
        })
        const { lag_s } = found(setpoint, gyro, { rate_hz: LOG_HZ })
        expect(Math.abs(lag_s * LOG_HZ - delay)).toBeLessThan(0.1)
      }
    }
  })
})

// Shared data's README, computed with SciPy 1.10.
describe.skipIf(noSharedData)('facts of the shared flights', () => {
  test.each([
    ['gains-original.csv', 'r', 8.5, 63.2, 0.033, 0.589],
    ['gains-original.csv', 'p', 8.5, 63.2, 0.033, 0.641],
    ['gains-i0-d4.csv', 'r', 8.5, 61, 0.034, 0.683],
    ['gains-i0-d4.csv', 'p', 8.5, 61, 0.033, 0.694],
    ['figure-eight.csv', 'r', 7, 20, 0.007, 0.976],
    ['figure-eight.csv', 'p', 7, 20, 0.023, 0.973],
    ['figure-eight.csv', 'y', 7, 20, 0.065, 0.79],
  ])('%s %s: lag and correlation', (file, axis, from_s, to_s, lag_s, r) => {
    const { t_s, rate_hz, column } = quadFlight(file, from_s, to_s)
    const result = found(column(`target_rate.${axis}`), column(`real_rate.${axis}`), { rate_hz, t_s })
    expect(Math.abs(result.lag_s - lag_s)).toBeLessThan(0.002)
    expect(Math.abs(result.r - r)).toBeLessThan(0.002)
  })
})
