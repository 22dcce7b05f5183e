import { describe, expect, test } from 'vitest'
import {
  secondOrderResponse,
  secondOrderStep,
  simulateSecondOrder,
  type SecondOrder,
} from '../../../workers/response/second-order.ts'
import { stepFigures } from '../../../workers/response/step-figures.ts'
import { normalInput } from '../signal/series.ts'

const system = (natural_radps: number, damping: number): SecondOrder => ({
  gain: 1,
  natural_radps,
  damping,
  delay_s: 0,
})
const figures = (natural_radps: number, damping: number) =>
  stepFigures(secondOrderStep(system(natural_radps, damping), 10_000, 60_000), 10_000)

describe('figures of a second-order step', () => {
  // Ogata's example, published formulas (rise, peak, overshoot); measured rise and settling computed with SciPy.
  test('damping 0.6, natural frequency 5 rad/s', () => {
    const found = figures(5, 0.6)
    expect(found.fullRise_s).toBeCloseTo(0.5536, 4)
    expect(found.peak_s).toBeCloseTo(0.7854, 4)
    expect(found.overshoot_percent).toBeCloseTo(9.478, 3)
    expect(found.rise_s).toBeCloseTo(0.3708, 4)
    expect(found.settle2_s).toBeCloseTo(1.1886, 4)
    expect(found.settle5_s).toBeCloseTo(1.0458, 4)
    // The envelope's settling, 4/(zeta wn) and 3/(zeta wn), is another thing: 1.333 and 1.000 s.
    expect(Math.abs(found.settle2_s! - 4 / (0.6 * 5))).toBeGreaterThan(0.1)
  })

  // Ogata, example 5-2: rise 0.65 s and peak 1 s published, settling computed.
  test('damping 0.456, natural frequency 3.53 rad/s', () => {
    const found = figures(3.53, 0.456)
    expect(found.fullRise_s).toBeCloseTo(0.65, 2)
    expect(found.peak_s).toBeCloseTo(1, 2)
    expect(found.settle2_s).toBeCloseTo(2.359, 3)
    expect(found.settle5_s).toBeCloseTo(1.488, 3)
  })

  // Computed: 10-90 % rise times the natural frequency.
  test.each([
    [0.4, 1.463],
    [0.5, 1.638],
    [0.6, 1.854],
    [0.7, 2.126],
  ])('damping %f: normalised rise %f', (damping, rise) => {
    expect(figures(1, damping).rise_s).toBeCloseTo(rise, 2)
    expect(
      stepFigures(secondOrderStep(system(10, damping), 10_000, 60_000), 10_000).rise_s! * 10,
    ).toBeCloseTo(rise, 3)
  })

  // Closed form: ln 9, ln 50, ln 20 time constants.
  test('first order: rise 2.1972 T, settling 3.912 T and 2.996 T', () => {
    const curve = Float64Array.from({ length: 20_000 }, (_, n) => 1 - Math.exp(-n / 1000))
    const found = stepFigures(curve, 1000)
    expect(found.rise_s).toBeCloseTo(2.1972, 3)
    expect(found.settle2_s).toBeCloseTo(3.912, 3)
    expect(found.settle5_s).toBeCloseTo(2.996, 3)
    expect(found.fullRise_s).toBeNull()
    expect(found.overshoot_percent).toBe(0)
  })

  test('a delay and an early start shift the times that count from the step, not the rise', () => {
    const late = secondOrderStep({ ...system(30, 0.5), delay_s: 0.02 }, 1000, 1000)
    const early = new Float64Array(1050)
    early.set(late, 50)
    const plain = stepFigures(secondOrderStep(system(30, 0.5), 1000, 1000), 1000)
    const found = stepFigures(early, 1000, -0.05)
    expect(found.rise_s).toBeCloseTo(plain.rise_s!, 4)
    expect(found.peak_s).toBeCloseTo(plain.peak_s! + 0.02, 4)
    expect(found.half_s).toBeCloseTo(plain.half_s! + 0.02, 3)
    expect(found.settle5_s).toBeCloseTo(plain.settle5_s! + 0.02, 3)
  })

  test('what the curve does not reach is null', () => {
    const found = stepFigures(new Float64Array(100).fill(0.5), 100)
    expect(found).toMatchObject({
      rise_s: null,
      fullRise_s: null,
      peak_s: null,
      settle2_s: null,
      settle5_s: null,
    })
  })
})

describe('second-order system', () => {
  const loop: SecondOrder = { gain: 0.9, natural_radps: 40, damping: 0.4, delay_s: 0.0123 }

  test('its simulation is its step response, convolved with any input', () => {
    const input = new Float64Array(2000)
    input.fill(1, 500)
    const output = new Float64Array(2000)
    simulateSecondOrder(loop, input, 2000, output)
    const step = secondOrderStep(loop, 2000, 1500)
    // The input rises straight over one sample: half a sample before the step.
    for (let n = 0; n < 1499; n += 50) expect(output[500 + n]).toBeCloseTo((step[n]! + step[n + 1]!) / 2, 2)
    const sine = Float64Array.from({ length: 8000 }, (_, n) => Math.sin((2 * Math.PI * 5 * n) / 2000))
    const answer = new Float64Array(8000)
    simulateSecondOrder(loop, sine, 2000, answer)
    const { re, im } = secondOrderResponse(loop, 5)
    for (let n = 4000; n < 4400; n += 37) {
      const phase = (2 * Math.PI * 5 * n) / 2000
      expect(answer[n]).toBeCloseTo(re * Math.sin(phase) + im * Math.cos(phase), 3)
    }
  })

  test.each([0.3, 1, 2.5])('damping %f: the step response solves the equation', (damping) => {
    const one = { gain: 1, natural_radps: 20, damping, delay_s: 0 }
    const h = 1e-4
    const step = secondOrderStep(one, 1 / h, 5000)
    for (const n of [100, 700, 2000, 4000]) {
      const bend = (step[n + 1]! - 2 * step[n]! + step[n - 1]!) / (h * h)
      const slope = (step[n + 1]! - step[n - 1]!) / (2 * h)
      expect(bend + 2 * damping * 20 * slope + 400 * step[n]!).toBeCloseTo(400, 0)
    }
  })

  test('is linear, and steady where the input is', () => {
    const input = normalInput(3, 500)
    const once = new Float64Array(500)
    const thrice = new Float64Array(500)
    simulateSecondOrder(loop, input, 500, once)
    simulateSecondOrder(
      loop,
      input.map((value) => 3 * value),
      500,
      thrice,
    )
    thrice.forEach((value, n) => expect(value).toBeCloseTo(3 * once[n]!, 10))
    const steady = new Float64Array(100)
    simulateSecondOrder(loop, new Float64Array(100).fill(5), 500, steady)
    steady.forEach((value) => expect(value).toBeCloseTo(4.5, 10))
  })
})
