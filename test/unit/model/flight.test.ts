import { describe, expect, test } from 'vitest'
import { AXES } from '../../../workers/flight/axes.ts'
import { simulateFlight, type FlightSetup } from '../../../workers/model/flight.ts'
import { hoverPoint, linearPlant, linearResponse } from '../../../workers/model/linear.ts'
import { excitation, hovering, punches, turns } from '../../../workers/model/orders.ts'
import { baseSetup, findScenario } from '../../../workers/model/scenarios.ts'
import { totalTime_s } from '../../../workers/model/spans.ts'
import { linearTruth, truthOf } from '../../../workers/model/truth.ts'

/** A short flight: quick, and with something of everything. */
function shortSetup(changes: Partial<FlightSetup> = {}): FlightSetup {
  return baseSetup(5, { orders: hovering(1, [...turns('roll', 2, 0.85), ...punches(1, 0.72)]), ...changes })
}

describe('a flight', () => {
  test('is the same to the last bit for the same seed, and another for another', () => {
    const one = simulateFlight(shortSetup())
    const again = simulateFlight(shortSetup())
    const other = simulateFlight(shortSetup({ seed: 6 }))
    expect(again.gyro_dps[0]).toEqual(one.gyro_dps[0])
    expect(again.motor).toEqual(one.motor)
    expect(again.manoeuvres).toEqual(one.manoeuvres)
    expect(other.gyro_dps[0]).not.toEqual(one.gyro_dps[0])
  })

  test('without knocks, wake, wind and noise still flies, and differs only there', () => {
    const quiet = simulateFlight(
      shortSetup({
        noise: 0,
        weather: { wind_mps: 0, turbulence_mps: 0 },
        trouble: { wash: 0, knocks_pmin: 0, knock_dps: 0 },
      }),
    )
    expect(quiet.knocks).toEqual([])
    expect(quiet.washSpans).toEqual([])
    // On the ground, before take-off, nothing moves.
    const before = quiet.t_s.findIndex((t) => t > 0.9)
    expect(quiet.gyro_dps[0]!.subarray(0, before).every((value) => value === 0)).toBe(true)
  })

  test.each([100, 400, 1500, 2000, 8000])('logs at %i Hz', (logRate_hz) => {
    const record = simulateFlight(shortSetup({ logRate_hz, orders: hovering(0.5) }))
    const duration_s = record.t_s[record.rows - 1]!
    expect(Math.abs(record.rows - 1 - duration_s * logRate_hz)).toBeLessThanOrEqual(1)
    for (let row = 1; row < record.rows; row++)
      expect(Math.abs((record.t_s[row]! - record.t_s[row - 1]!) * logRate_hz - 1)).toBeLessThan(
        logRate_hz / 8000 + 1e-9,
      )
  })

  test('a whole turn turns the craft once round, give or take a human hand', () => {
    const record = simulateFlight(shortSetup({ logRate_hz: 2000 }))
    const rolls = record.manoeuvres.filter((one) => one.kind === 'roll')
    expect(rolls.map((one) => one.direction)).toEqual([1, -1])
    for (const roll of rolls) {
      let turned_deg = 0
      record.t_s.forEach((t, row) => {
        if (t >= roll.start_s && t < roll.end_s) turned_deg += record.gyro_dps[0]![row]! / 2000
      })
      expect(Math.abs(turned_deg * roll.direction - 360)).toBeLessThan(30)
    }
  })

  test('a punch sags the battery, and a flight empties it', () => {
    const record = simulateFlight(shortSetup())
    const punch = record.manoeuvres.find((one) => one.kind === 'punch')!
    const voltage = (t_s: number) => record.voltage_V[record.t_s.findIndex((t) => t >= t_s)]!
    expect(voltage(punch.end_s)).toBeLessThan(voltage(punch.start_s) - 0.5)
    expect(record.voltage_V[record.rows - 1]).toBeLessThan(record.voltage_V[0]!)
  })

  test('the same tune flown roughly moves the sticks harder', () => {
    const peak = (name: string) => {
      const orders = hovering(0.5, turns('roll', 4, 0.8))
      const record = simulateFlight({ ...findScenario(name).setup(2), orders })
      let fastest = 0
      for (let row = 1; row < record.rows; row++)
        fastest = Math.max(
          fastest,
          Math.abs(record.setpoint_dps[0]![row]! - record.setpoint_dps[0]![row - 1]!),
        )
      return fastest
    }
    expect(peak('rough')).toBeGreaterThan(1.2 * peak('gentle'))
  })
})

describe('truth', () => {
  // The idealised craft under its own sticks must answer as its linear loop does: nonlinear parts left are the
  // rigid body's coupling of the axes and the airframe's drag.
  test('the linear scenario answers its setpoint as the linear truth says', () => {
    const setup = {
      ...findScenario('linear').setup(4),
      noise: 0,
      logRate_hz: 8000,
      orders: excitation().slice(0, 14),
      longest_s: 30,
    }
    const record = simulateFlight(setup)
    expect(record.saturated).toEqual([])
    const plant = linearPlant(setup.craft, 'roll', hoverPoint(setup.craft), setup.rate_hz)
    const { gyro } = linearResponse(setup.tune, 'roll', plant, setup.rate_hz, record.setpoint_dps[0]!)
    let worst = 0
    let largest = 0
    for (let row = 0; row < record.rows; row++) {
      if (record.t_s[row]! < 4) continue
      worst = Math.max(worst, Math.abs(gyro[row]! - record.gyro_dps[0]![row]!))
      largest = Math.max(largest, Math.abs(gyro[row]!))
    }
    expect(largest).toBeGreaterThan(150)
    expect(worst / largest).toBeLessThan(0.01)
  })

  test('carries the setup, the manoeuvres in order and figures for every axis', () => {
    const setup = shortSetup()
    const record = simulateFlight(setup)
    const truth = truthOf('short', 'short-5', setup, record)
    expect(truth.setup).toEqual(setup)
    expect(truth.rows).toBe(record.rows)
    const starts = truth.manoeuvres.map((one) => one.start_s)
    expect(starts).toEqual([...starts].sort((a, b) => a - b))
    expect(truth.manoeuvres.map((one) => one.kind)).toEqual([
      'take-off',
      'hover',
      'roll',
      'roll',
      'punch',
      'chop',
      'landing',
    ])
    for (const axis of AXES) {
      const { figures, step, frequency } = truth.linear.axes[axis]
      expect(step.gyro).toHaveLength(501)
      expect(figures.rise_s).toBeGreaterThan(0)
      // Slow setpoints are followed exactly: the integrator sees to it.
      expect(frequency.gain[0]).toBeCloseTo(1, 0)
      expect(figures.final).toBeCloseTo(1, 2)
    }
    // A file must hold it: JSON keeps every number.
    expect(JSON.parse(JSON.stringify(truth))).toEqual(truth)
  })

  test('saturation times are where the log shows motors at both ends of their range', () => {
    const setup = { ...findScenario('saturating').setup(2), orders: hovering(1, turns('roll', 6, 0.9)) }
    const record = simulateFlight(setup)
    expect(totalTime_s(record.saturated) / record.t_s[record.rows - 1]!).toBeGreaterThan(0.005)
    const { idle, top } = setup.tune
    let outside = 0
    let inside = 0
    let bothInside = 0
    let beyond = 0
    for (let row = 0; row < record.rows; row++) {
      const t = record.t_s[row]!
      const commands = record.motor.map((motor) => motor[row]!)
      const high = Math.max(...commands)
      const low = Math.min(...commands)
      if (high > Math.fround(top) || low < Math.fround(idle)) beyond++
      const bothEnds = high >= top - 1e-6 && low <= idle + 1e-6
      const spanned = record.saturated.some((span) => t >= span.start_s && t <= span.end_s)
      if (bothEnds && !spanned) outside++
      if (spanned) inside++
      if (spanned && bothEnds) bothInside++
    }
    expect([beyond, outside]).toEqual([0, 0])
    // Spans less than 5 ms apart are joined, so some rows between them are free.
    expect(bothInside / inside).toBeGreaterThan(0.8)
  })

  test('knocks jump the rate by what the truth says', () => {
    const setup = findScenario('knocks').setup(3)
    const still = { ...setup, noise: 0, orders: hovering(12) }
    const record = simulateFlight({ ...still, logRate_hz: 8000 })
    const knock = record.knocks.find((one) => one.axis < 2 && one.t_s > 4)!
    const row = record.t_s.findIndex((t) => t >= knock.t_s)
    const column = record.gyroRaw_dps[knock.axis]!
    const jump = column[row + 8 * 13]! - column[row]!
    // The loop fights back within the knock's 12 ms, so less than the whole jump is left.
    expect(Math.sign(jump)).toBe(Math.sign(knock.jump_dps))
    expect(Math.abs(jump)).toBeGreaterThan(0.5 * Math.abs(knock.jump_dps))
    expect(Math.abs(jump)).toBeLessThan(1.1 * Math.abs(knock.jump_dps))
  })

  test('a linear truth needs no flight', () => {
    const setup = shortSetup()
    expect(linearTruth(setup)).toEqual(truthOf('x', 'y', setup, simulateFlight(setup)).linear)
  })
})
