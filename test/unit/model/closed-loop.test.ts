import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import type { Axis } from '../../../workers/flight/axes.ts'
import { AXES } from '../../../workers/flight/axes.ts'
import { bandwidth_hz, frequencyResponse, slowDelay_s } from '../../../workers/model/closed-loop.ts'
import { hoverCommand, type Craft } from '../../../workers/model/craft.ts'
import { hoverPoint, linearPlant, linearStep } from '../../../workers/model/linear.ts'
import { blameForInstability, isStable } from '../../../workers/model/stability.ts'
import { stepFigures } from '../../../workers/response/step-figures.ts'
import type { Tune } from '../../../workers/model/tune.ts'
import { Vehicle } from '../../../workers/model/vehicle.ts'

/** Computed with SciPy by test/reference/model/closed_loop.py; every millisecond from the step on. */
interface Case {
  readonly name: string
  readonly axis: Axis
  readonly craft: Craft
  readonly tune: Tune
  readonly gyro: readonly number[]
  readonly zeta?: number
  readonly wn?: number
  readonly frequency?: { f_hz: number[]; gain: number[]; phase_deg: number[] }
  readonly largestStableP?: number
}
const fixture = new URL('../../fixtures/model/closed-loop.json', import.meta.url)
const { cases } = JSON.parse(readFileSync(fixture, 'utf8')) as { cases: Case[] }
const RATE_HZ = 8000
const PER_MS = RATE_HZ / 1000

/** The whole simulator, limits and all, answering a small step on the stand. */
function vehicleStep({ craft, tune, axis }: Case, duration_s: number, step_dps: number): Float64Array {
  const index = AXES.indexOf(axis)
  const startThrottle = (hoverCommand(craft) - tune.idle) / (tune.top - tune.idle)
  const vehicle = new Vehicle(craft, tune, { rate_hz: RATE_HZ, onStand: true, startThrottle })
  vehicle.setpoint_dps[index] = step_dps
  const gyro = new Float64Array(duration_s * RATE_HZ)
  for (let step = 0; step < gyro.length; step++) {
    vehicle.step()
    gyro[step] = vehicle.controllers[index]!.gyro_dps / step_dps
  }
  return gyro
}

function largestDifference(mine: Float64Array, theirs: readonly number[], until_s: number): number {
  let largest = 0
  for (let ms = 0; ms < until_s * 1000; ms++)
    largest = Math.max(largest, Math.abs(mine[ms * PER_MS]! - theirs[ms]!))
  return largest
}

const plantOf = ({ craft, axis }: Case) => linearPlant(craft, axis, hoverPoint(craft), RATE_HZ)

describe.each(cases)('$name', (one) => {
  test('the linear truth agrees with SciPy to 0.2 % of the step over 0.5 s', () => {
    const { gyro } = linearStep(one.tune, one.axis, plantOf(one), RATE_HZ, 0.6)
    expect(largestDifference(gyro, one.gyro, 0.5)).toBeLessThan(0.002)
  })

  // A step small enough for the motors' curves to be straight; unlike lags bend even the smallest a little.
  const unlike = one.craft.motor.lagUp_s !== one.craft.motor.lagDown_s
  test(`the whole simulator agrees with SciPy to ${unlike ? 2 : 1} % of a small step over 0.5 s`, () => {
    const gyro = vehicleStep(one, 0.6, one.zeta === undefined ? 2 : 10)
    expect(largestDifference(gyro, one.gyro, 0.5)).toBeLessThan(unlike ? 0.02 : 0.01)
  })
})

const realistic = cases.filter((one) => one.frequency !== undefined)

describe.each(realistic)('over frequency: $name', (one) => {
  test('gain within 1 %, phase within 1 degree of SciPy', () => {
    const response = linearStep(one.tune, one.axis, plantOf(one), RATE_HZ, 4)
    const { f_hz, gain, phase_deg } = one.frequency!
    const mine = frequencyResponse(response, f_hz)
    f_hz.forEach((f, index) => {
      expect(Math.abs(mine.gain[index]! / gain[index]! - 1), `gain at ${f} Hz`).toBeLessThan(0.01)
      expect(Math.abs(mine.phase_deg[index]! - phase_deg[index]!), `phase at ${f} Hz`).toBeLessThan(1)
    })
  })

  test("the largest P that settles is the one of SciPy's eigenvalues, within 3 %", () => {
    const p = one.largestStableP!
    const withP = (value: number): Tune => ({
      ...one.tune,
      axes: { ...one.tune.axes, [one.axis]: { ...one.tune.axes[one.axis], p: value } },
    })
    expect(isStable(withP(p * 0.97), one.axis, plantOf(one), RATE_HZ)).toBe(true)
    expect(isStable(withP(p * 1.03), one.axis, plantOf(one), RATE_HZ)).toBe(false)
    const blame = blameForInstability(withP(p * 2), one.axis, plantOf(one), RATE_HZ)
    expect(blame.gain).toBe('p')
    expect(Math.abs(blame.limit / p - 1)).toBeLessThan(0.03)
  })
})

describe("figures of the handbook's second-order systems", () => {
  const figuresOf = (one: Case) =>
    stepFigures(linearStep(one.tune, 'roll', plantOf(one), RATE_HZ, 4).gyro, RATE_HZ)

  // Ogata's example, zeta .6, wn 5: method.md section 3 (published formula; measured figures computed there).
  test('zeta .6, wn 5', () => {
    const figures = figuresOf(cases.find((one) => one.zeta === 0.6)!)
    expect(figures.fullRise_s).toBeCloseTo(0.5536, 3)
    expect(figures.peak_s).toBeCloseTo(0.7854, 2)
    expect(figures.overshoot_percent).toBeCloseTo(9.478, 1)
    expect(figures.rise_s).toBeCloseTo(0.3708, 3)
    expect(figures.settle2_s).toBeCloseTo(1.1886, 2)
    expect(figures.settle5_s).toBeCloseTo(1.0458, 2)
  })

  // Ogata 5-2, zeta .456, wn 3.53: rise .65 and peak 1 published, settling computed (method.md section 3).
  test('zeta .456, wn 3.53', () => {
    const figures = figuresOf(cases.find((one) => one.zeta === 0.456)!)
    expect(figures.fullRise_s).toBeCloseTo(0.65, 2)
    expect(figures.peak_s).toBeCloseTo(1, 2)
    expect(figures.settle2_s).toBeCloseTo(2.359, 1)
    expect(figures.settle5_s).toBeCloseTo(1.488, 1)
  })

  // Normalised 10-90 % rise over zeta: computed, method.md section 3.
  test.each([
    [0.4, 1.463],
    [0.5, 1.638],
    [0.6, 1.854],
    [0.7, 2.126],
  ])('wn times rise for zeta %f is %f', (zeta, expected) => {
    const response = sampled((t) => secondOrder(zeta, t), 12, 1000)
    expect(stepFigures(response, 1000).rise_s).toBeCloseTo(expected, 3)
  })

  // First order: rise 2.1972 T, settling 3.912 T and 2.996 T (exact: ln 9, ln 50, ln 20).
  test('a first-order response', () => {
    const figures = stepFigures(
      sampled((t) => 1 - Math.exp(-t), 10, 1000),
      1000,
    )
    expect(figures.rise_s).toBeCloseTo(2.1972, 3)
    expect(figures.settle2_s).toBeCloseTo(3.912, 3)
    expect(figures.settle5_s).toBeCloseTo(2.996, 3)
    expect(figures.overshoot_percent).toBe(0)
  })

  test('a response that never arrives has no rise and no settling', () => {
    const figures = stepFigures(
      sampled((t) => 0.5 * (1 - Math.exp(-t)), 10, 100),
      100,
    )
    expect([figures.rise_s, figures.fullRise_s, figures.settle2_s]).toEqual([null, null, null])
  })
})

describe('delay and bandwidth from a step response', () => {
  // A pure first-order lag T after a delay d: slow delay T + d, bandwidth 1/(2 pi T).
  const lag_s = 0.02
  const delay_s = 0.01
  const gyro = sampled((t) => (t < delay_s ? 0 : 1 - Math.exp(-(t - delay_s) / lag_s)), 1, RATE_HZ)
  const response = { rate_hz: RATE_HZ, gyro, rate: gyro }

  test('slow delay is lag and delay together', () => {
    // Sampling leaves the start of the response uncertain by a sample.
    expect(Math.abs(slowDelay_s(response) - lag_s - delay_s)).toBeLessThan(1 / RATE_HZ)
  })

  test('the gain falls through -3 dB at the corner', () => {
    const f_hz = Array.from({ length: 200 }, (_, index) => 0.1 * (index + 1))
    expect(bandwidth_hz(frequencyResponse(response, f_hz))).toBeCloseTo(1 / (2 * Math.PI * lag_s), 1)
  })
})

function sampled(of: (t_s: number) => number, duration_s: number, rate_hz: number): Float64Array {
  return Float64Array.from({ length: duration_s * rate_hz }, (_, index) => of(index / rate_hz))
}

/** Step response of 1/(s^2 + 2 zeta s + 1), the textbook closed form. */
function secondOrder(zeta: number, t: number): number {
  const damped = Math.sqrt(1 - zeta * zeta)
  return 1 - Math.exp(-zeta * t) * (Math.cos(damped * t) + (zeta / damped) * Math.sin(damped * t))
}
