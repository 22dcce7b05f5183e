import { beforeAll, describe, expect, test } from 'vitest'
import { AXES } from '../../../workers/flight/axes.ts'
import { detectManoeuvres } from '../../../workers/manoeuvre/detect.ts'
import { Random } from '../../../workers/model/random.ts'
import { simulateFlight, type FlightRecord } from '../../../workers/model/flight.ts'
import { findScenario } from '../../../workers/model/scenarios.ts'
import { measurable } from '../../../workers/verdict/answers.ts'
import { evenFlight } from '../../../workers/verdict/even-flight.ts'
import { explainedBySetpoint, explainedShare } from '../../../workers/verdict/explained.ts'
import {
  findTwitches,
  judgeSpan,
  riceLevel,
  riceRate_ps,
  watchAxis,
  type Watch,
} from '../../../workers/verdict/stick-or-rest.ts'
import { signalsOf } from '../manoeuvre/flown.ts'

describe("Rice's rate (computed)", () => {
  test('B 50 Hz: u 2 3.907/s and u 3 .321/s one way, once a minute both ways at 4.037', () => {
    expect(riceRate_ps(2, 50) / 2).toBeCloseTo(3.907, 3)
    expect(riceRate_ps(3, 50) / 2).toBeCloseTo(0.321, 3)
    expect(riceLevel(1 / 60, 50)).toBeCloseTo(4.037, 3)
    expect(riceRate_ps(riceLevel(0.2, 80), 80)).toBeCloseTo(0.2, 12)
  })
})

describe('what the setpoint explains', () => {
  const rate_hz = 250
  const random = new Random(4)
  const setpoint = new Float64Array(5000)
  let slow = 0
  for (let n = 0; n < setpoint.length; n++) {
    slow = 0.97 * slow + 20 * random.normal()
    setpoint[n] = slow
  }
  /** First order of 20 ms behind 8 ms. */
  const answer = new Float64Array(5000)
  for (let n = 3; n < answer.length; n++)
    answer[n] = answer[n - 1]! + 0.18 * (setpoint[n - 2]! - answer[n - 1]!)

  test('a linear answer is explained nearly whole, noise is not, and scale does not matter', () => {
    const explained = explainedBySetpoint(setpoint, answer, rate_hz)!
    expect(explainedShare(answer, explained, 100, 4900)).toBeGreaterThan(0.995)
    const noise = Float64Array.from({ length: 5000 }, () => 30 * random.normal())
    expect(explainedShare(noise, explainedBySetpoint(setpoint, noise, rate_hz)!, 100, 4900)).toBeLessThan(
      0.05,
    )
    const scaled = answer.map((value) => -7 * value)
    const again = explainedBySetpoint(setpoint, scaled, rate_hz)!
    expect(explainedShare(scaled, again, 100, 4900)).toBeCloseTo(
      explainedShare(answer, explained, 100, 4900),
      9,
    )
  })

  test('no stretch is judged by a fit to itself: what an eighth does alone is not learnt there', () => {
    // The craft turns the other way in the last eighth only: predicted from the others, that is wrong by twice.
    const odd = answer.map((value, n) => (n >= 4375 ? -value : value))
    const explained = explainedBySetpoint(setpoint, odd, rate_hz)!
    expect(explainedShare(odd, explained, 4500, 4990)).toBe(0)
  })

  test('gaps are NaN, a still setpoint or a short flight gives nothing', () => {
    const gap = answer.map((value, n) => (n > 2000 && n < 2050 ? NaN : value))
    const explained = explainedBySetpoint(setpoint, gap, rate_hz)!
    expect(explained.residual[2010]).toBeNaN()
    expect(explained.residual[3000]).not.toBeNaN()
    expect(explainedBySetpoint(new Float64Array(5000), answer, rate_hz)).toBeNull()
    expect(explainedBySetpoint(setpoint.subarray(0, 900), answer.subarray(0, 900), rate_hz)).toBeNull()
  })
})

describe('me or the quad, on a flight with knocks', () => {
  let record: FlightRecord
  let watches: (Watch | null)[]
  let manoeuvres: ReturnType<typeof detectManoeuvres>
  beforeAll(() => {
    record = simulateFlight({ ...findScenario('knocks').setup(3), logRate_hz: 500 })
    const signals = signalsOf(record)
    const even = evenFlight(signals)
    manoeuvres = detectManoeuvres(signals)
    const { explained } = measurable(signals, even, manoeuvres)
    watches = AXES.map((axis) => watchAxis(axis, even, explained[axis], manoeuvres))
  }, 60_000)

  test('at least 90 % of knocks are called not explained by the stick, and each is found', () => {
    expect(record.knocks.length).toBeGreaterThan(10)
    const called = record.knocks.filter(
      ({ axis, t_s }) =>
        judgeSpan(watches[axis]!, t_s - 0.03, t_s + 0.12).word === 'not explained by the stick',
    )
    expect(called.length / record.knocks.length).toBeGreaterThanOrEqual(0.9)
    const found = watches.map((watch) => findTwitches(watch))
    for (const { axis, t_s } of record.knocks)
      expect(found[axis]!.some((twitch) => Math.abs(twitch.t_s - t_s) < 0.1)).toBe(true)
  })

  test('at least 90 % of stick-made stops are called the stick', () => {
    const made = manoeuvres.filter(
      ({ axis, kind, start_s, stop_s }) =>
        (kind === 'turn' || kind === 'snap') &&
        !record.knocks.some(
          (knock) => AXES[knock.axis] === axis && knock.t_s > start_s - 0.15 && knock.t_s < stop_s! + 0.15,
        ),
    )
    expect(made.length).toBeGreaterThan(15)
    const called = made.filter(
      ({ axis, start_s, stop_s }) =>
        judgeSpan(watches[AXES.indexOf(axis!)]!, start_s, stop_s! + 0.1).word === 'the stick',
    )
    expect(called.length / made.length).toBeGreaterThanOrEqual(0.9)
  })

  test('the threshold comes from quiet flight, its false alarms are counted, and words never blame the craft', () => {
    for (const watch of watches) {
      expect(watch!.threshold).toBeGreaterThan(riceLevel(1 / 60, watch!.even.rate_hz / 2) - 1e-9)
      expect(watch!.falseAlarms.quiet_s).toBeGreaterThan(5)
      for (const { judged } of findTwitches(watch)) expect(judged.sentence).not.toMatch(/fault|quad/)
    }
  })

  test('without the data it says so', () => {
    expect(judgeSpan(null, 1, 2).word).toBe("can't tell")
    expect(findTwitches(null)).toEqual([])
    expect(judgeSpan(watches[0]!, 1e6, 1e6 + 1).word).toBe("can't tell")
  })
})
