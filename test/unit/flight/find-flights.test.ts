import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { findFlights, type FlightClues } from '../../../workers/flight/find-flights.ts'
import { sharedData } from '../../shared-data.ts'
import { seeded } from '../columns/invented-flight.ts'

const RATE_HZ = 200

/** Builds signals from pieces of [seconds, power, turning in deg/s]. */
function made(
  pieces: readonly (readonly [number, number, number])[],
  restarts: readonly number[] = [],
): FlightClues {
  const random = seeded(5)
  const power: number[] = []
  const gyro: number[] = []
  for (const [seconds, level, turn] of pieces) {
    for (let row = 0; row < seconds * RATE_HZ; row += 1) {
      power.push(level * (1 + 0.1 * (random() - 0.5)))
      gyro.push(turn * 3.46 * (random() - 0.5))
    }
  }
  return {
    time_s: Float64Array.from(power, (_, row) => row / RATE_HZ),
    restarts,
    power: Float32Array.from(power),
    powerFrom: 'throttle',
    turn_dps: Float32Array.from(gyro, Math.abs),
  }
}
const GROUND = [5, 0, 0.3] as const
const IDLE = [4, 0.06, 2] as const

describe('finding flights', () => {
  test('two flights with a landing between', () => {
    const flights = findFlights(made([GROUND, IDLE, [30, 0.5, 60], IDLE, GROUND, IDLE, [20, 0.4, 40], IDLE]))
    expect(flights.map(({ kind }) => kind)).toEqual(['flight', 'flight'])
    expect(flights[0]?.start_s).toBeCloseTo(9, 0)
    expect(flights[0]?.duration_s).toBeCloseTo(30, 0)
    expect(flights[1]?.start_s).toBeCloseTo(52, 0)
    expect(flights[1]?.duration_s).toBeCloseTo(20, 0)
    expect(flights[0]?.how).toMatch(/^Take-off to landing from 9\.\d s to 39\.\d s, told by the throttle\.$/)
  })

  test('power taken away in the air does not end the flight; on the ground it does', () => {
    const turning = made([GROUND, [10, 0.5, 60], [5, 0, 80], [10, 0.5, 60], GROUND])
    expect(findFlights(turning)).toHaveLength(1)
    const resting = made([GROUND, [10, 0.5, 60], [5, 0, 0.5], [10, 0.5, 60], GROUND])
    expect(findFlights(resting)).toHaveLength(2)
  })

  test('carried about without power is no flight', () => {
    const flights = findFlights(made([GROUND, [10, 0.5, 60], [2.5, 0, 1], [10, 0, 200]]))
    expect(flights).toHaveLength(1)
    expect(flights[0]?.duration_s).toBeCloseTo(10, 0)
  })

  test('a short hop is offered as such, a blip of the motors is not', () => {
    const flights = findFlights(
      made([GROUND, [0.3, 0.5, 1], GROUND, [3, 0.5, 30], GROUND, [30, 0.5, 60], GROUND]),
    )
    expect(flights.map(({ kind }) => kind)).toEqual(['short', 'flight'])
  })

  test('power cycles are never joined; start counts from each cycle', () => {
    const row = 20 * RATE_HZ
    const flights = findFlights(
      made(
        [
          [5, 0, 0],
          [15, 0.5, 50],
          [15, 0.5, 50],
          [5, 0, 0],
        ],
        [row],
      ),
    )
    expect(flights.map(({ cycle, from, to }) => [cycle, from <= row, to <= row])).toEqual([
      [1, true, true],
      [2, true, false],
    ])
    expect(flights[1]?.start_s).toBe(0)
  })

  test('the gyro alone, and nothing at all', () => {
    const gyroOnly = { ...made([GROUND, [20, 0, 60], GROUND]), power: null }
    expect(findFlights(gyroOnly)[0]?.how).toContain('told by the gyro')
    const nothing = findFlights({ ...gyroOnly, turn_dps: null })
    expect(nothing).toMatchObject([{ kind: 'whole', from: 0, to: gyroOnly.time_s.length }])
    const still = findFlights(made([GROUND]))
    expect(still[0]?.kind).toBe('whole')
  })

  // First and last stamp with thrust above a tenth of 65535, read off the files with numpy.
  test.each([
    ['research-quad/gains-original.csv', 6.543, 64.202, 8],
    ['research-quad/gains-i0-d4.csv', 6.165, 63.825, 8],
    ['research-quad/figure-eight.csv', 5.288, 21.1, 21],
  ] as const)('%s: one flight', (name, takeOff_s, landing_s, thrust) => {
    const path = sharedData(name)
    if (!path) return
    const rows = readFileSync(path, 'utf8')
      .trim()
      .split('\n')
      .slice(1)
      .map((line) => line.split(',').map(Number))
    const column = (index: number, scale: number): Float32Array =>
      Float32Array.from(rows, (row) => (row[index] as number) * scale)
    const gyroFrom = thrust === 21 ? 14 : 1
    const flights = findFlights({
      time_s: Float64Array.from(rows, (row) => row[0] as number),
      restarts: [],
      power: column(thrust, 1 / 65535),
      powerFrom: 'throttle',
      turn_dps: Float32Array.from(
        rows,
        (row) => Math.hypot(...row.slice(gyroFrom, gyroFrom + 3)) * (180 / Math.PI),
      ),
    })
    expect(flights).toHaveLength(1)
    expect(Math.abs((flights[0]?.start_s ?? NaN) - takeOff_s)).toBeLessThan(0.25)
    expect(Math.abs((flights[0]?.start_s ?? NaN) + (flights[0]?.duration_s ?? NaN) - landing_s)).toBeLessThan(
      0.25,
    )
  })
})
