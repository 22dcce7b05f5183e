import { describe, expect, test } from 'vitest'
import { errorBudget, type ErrorBudget } from '../../../workers/response/budget.ts'
import { simulateSecondOrder } from '../../../workers/response/second-order.ts'
import { trackingError } from '../../../workers/response/tracking.ts'
import type { ResponseSeries } from '../../../workers/response/step-response.ts'
import { noSharedData, normalInput, quadFlight, randomInput } from '../signal/series.ts'

/** A smooth random setpoint, its value at any time. */
function smooth(seed: number) {
  const rates = randomInput(seed, 80).map((u, k) => 2 * Math.PI * (0.1 + (8 * (k + 0.5 + u)) / 80))
  const phases = randomInput(seed + 1, 80)
  return (t: number) => {
    let sum = 0
    for (let k = 0; k < 80; k++) sum += Math.sin(rates[k]! * t + 2 * Math.PI * phases[k]!)
    return 20 * sum
  }
}

const signal = smooth(1)
const at = (rate_hz: number, count: number, late_s = 0) =>
  Float64Array.from({ length: count }, (_, n) => signal(n / rate_hz - late_s))

function budget(series: ResponseSeries): ErrorBudget {
  const result = errorBudget(series)
  if (result.kind === 'refused') throw new Error(result.reason)
  return result
}

const sum = ({ parts }: ErrorBudget) => Object.values(parts).reduce((total, part) => total + part, 0)

describe('error budget', () => {
  // Required: the parts add up to the total mean square, relative 1e-9.
  test.each([100, 500, 1000, 2000])('parts add up, none is negative, at %i Hz', (rate_hz) => {
    const setpoint = at(rate_hz, 12 * rate_hz)
    const noise = normalInput(rate_hz, setpoint.length)
    const gyro = at(rate_hz, 12 * rate_hz, 0.021).map((value, n) => 0.93 * value + 4 + 8 * noise[n]!)
    gyro.fill(NaN, 300, 320)
    const result = budget({ setpoint, gyro, rate_hz, breaks: [5 * rate_hz] })
    expect(Math.abs(sum(result) / result.total - 1)).toBeLessThan(1e-9)
    for (const part of Object.values(result.parts)) expect(part).toBeGreaterThanOrEqual(0)
  })

  test('the total is the tracking error over the same samples', () => {
    const setpoint = at(400, 8000)
    const gyro = at(400, 8000, 0.01)
    const result = budget({ setpoint, gyro, rate_hz: 400 })
    const reach = (8000 - result.samples) / 2
    const direct = trackingError(setpoint.subarray(reach, 8000 - reach), gyro.subarray(reach, 8000 - reach))
    expect(result.rms_dps).toBeCloseTo(direct.rms_dps, 9)
  })

  // Closed form: RMS of a delayed sine = sqrt2 A |sin(pi f d)|; 500 deg/s, 2 Hz, 10 ms: 44.400.
  test('a delayed sine costs its closed form, all of it delay', () => {
    const sine = (late_s: number) =>
      // What is cut off at either end for the reach of the fits leaves 40 whole periods.
      Float64Array.from({ length: 20_408 }, (_, n) => 500 * Math.sin(2 * Math.PI * 2 * (n / 1000 - late_s)))
    const result = budget({ setpoint: sine(0), gyro: sine(0.01), rate_hz: 1000 })
    expect(result.rms_dps).toBeCloseTo(44.4, 2)
    expect(result.parts.delay / result.total).toBeGreaterThan(0.9999)
    expect(result.delay_s).toBeCloseTo(0.01, 5)
  })

  test('each part takes what is its own', () => {
    const setpoint = at(500, 20_000)
    const power = setpoint.reduce((total, value) => total + value * value, 0) / 20_000
    const noise = normalInput(5, 20_000)
    const gyro = at(500, 20_000, 0.018).map((value, n) => 0.9 * value + 6 + 5 * noise[n]!)
    const result = budget({ setpoint, gyro, rate_hz: 500 })
    expect(result.delay_s).toBeCloseTo(0.018, 4)
    expect(result.gain).toBeCloseTo(0.9, 2)
    // The setpoint's own mean is small but not nothing: the offset is that of gyro - setpoint.
    expect(Math.sqrt(result.parts.offset)).toBeCloseTo(6, 0)
    expect(result.parts.gain / (0.01 * power)).toBeCloseTo(1, 1)
    expect(result.parts.residual).toBeCloseTo(25, 0)
    expect(result.parts.shape).toBeLessThan(0.5)
  })

  test('a slow second-order answer has a shape beyond its delay', () => {
    const setpoint = at(500, 20_000)
    const gyro = new Float64Array(20_000)
    simulateSecondOrder({ gain: 1, natural_radps: 50, damping: 0.35, delay_s: 0 }, setpoint, 500, gyro)
    const result = budget({ setpoint, gyro, rate_hz: 500 })
    expect(result.parts.shape).toBeGreaterThan(10 * result.parts.residual)
    expect(result.parts.shape).toBeGreaterThan(0.002 * result.total)
  })

  test('exchanging scale changes every part by its square', () => {
    const setpoint = at(500, 8000)
    const gyro = at(500, 8000, 0.012).map((value, n) => value + 3 * Math.sin(n))
    const once = budget({ setpoint, gyro, rate_hz: 500 })
    const twice = budget({
      setpoint: setpoint.map((value) => 2 * value),
      gyro: gyro.map((value) => 2 * value),
      rate_hz: 500,
    })
    for (const name of ['delay', 'gain', 'shape', 'residual'] as const) {
      expect(twice.parts[name]).toBeCloseTo(4 * once.parts[name], 6)
    }
  })

  test('refuses too little flight, and a setpoint that stands still', () => {
    const short = errorBudget({ setpoint: at(500, 200), gyro: at(500, 200), rate_hz: 500 })
    expect(short.kind === 'refused' && short.reason).toContain('too little flight')
    const still = errorBudget({ setpoint: new Float64Array(5000), gyro: normalInput(1, 5000), rate_hz: 500 })
    expect(still.kind === 'refused' && still.reason).toContain('stands still')
  })

  test.skipIf(noSharedData)('of a real flight: parts add up and the delay is that of its lag', () => {
    const { t_s, rate_hz, column } = quadFlight('figure-eight.csv', 7, 20)
    expect(t_s.length).toBeGreaterThan(1000)
    const dps = (name: string) => column(name).map((value) => (value * 180) / Math.PI)
    const result = budget({ setpoint: column('target_rate.p'), gyro: dps('real_rate.p'), rate_hz })
    expect(Math.abs(sum(result) / result.total - 1)).toBeLessThan(1e-9)
    expect(Math.abs(result.delay_s - 0.023)).toBeLessThan(0.005)
  })
})
