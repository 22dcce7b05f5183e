import { expect, test } from 'vitest'
import { ClueGatherer } from '../../../electron/intake/flight-clues.ts'
import type { Assignment, Role } from '../../../workers/columns/roles.ts'
import { clueWindows, findFlights, findFlightsIn } from '../../../workers/flight/find-flights.ts'
import { seeded } from '../columns/invented-flight.ts'

const ROWS = 12_000
const RATE_HZ = 200
const random = seeded(11)
const time_s = Float64Array.from({ length: ROWS }, (_, row) => row / RATE_HZ)
const isFlying = (row: number): boolean => (row > 2000 && row < 5000) || (row > 7000 && row < 11_000)
const noisy = (size: number): Float32Array =>
  Float32Array.from({ length: ROWS }, (_, row) =>
    row % 97 === 0 ? NaN : size * (isFlying(row) ? 0.5 + random() : 0.01 * random()),
  )
const COLUMNS = new Map<Role, Float32Array>([
  ['gyro.roll', noisy(80)],
  ['gyro.pitch', noisy(60)],
  ['throttle', noisy(0.3)],
  ['motor.1', noisy(0.4)],
  ['motor.2', noisy(0.5)],
])

/** The same from whole columns, row by row. */
function expected(roles: readonly Role[], restarts: readonly number[]) {
  const some = (kind: string): Float32Array[] =>
    roles.filter((role) => role.startsWith(kind)).map((role) => COLUMNS.get(role) as Float32Array)
  const over = (columns: readonly Float32Array[], of: (values: number[]) => number): Float32Array | null =>
    columns.length === 0
      ? null
      : time_s.reduce((out, _, row) => {
          out[row] = of(columns.map((column) => column[row] as number))
          return out
        }, new Float32Array(ROWS))
  const sum = (values: readonly number[]): number =>
    values.reduce((all, value) => Math.fround(all + value), 0)
  const motors = over(some('motor.'), (values) => sum(values) / values.length)
  return findFlights({
    time_s,
    step_s: 1 / RATE_HZ,
    restarts,
    power: motors ?? some('throttle')[0] ?? null,
    powerFrom: motors ? 'motors' : 'throttle',
    turn_dps: over(some('gyro.'), (values) => Math.sqrt(sum(values.map((value) => value * value)))),
  })
}

test.each<[string, Role[]]>([
  ['gyro before motors', ['gyro.roll', 'gyro.pitch', 'throttle', 'motor.1', 'motor.2']],
  ['gyro and motors mixed', ['motor.1', 'gyro.roll', 'motor.2', 'throttle', 'gyro.pitch']],
  ['a throttle alone', ['throttle']],
  ['a gyro alone', ['gyro.pitch', 'gyro.roll']],
  ['nothing that tells', []],
])('flights by clues that are added up are those by whole columns: %s', (_, roles) => {
  for (const restarts of [[], [6001]]) {
    const assignments = roles.map((role) => ({ role }) as Assignment)
    const windows = clueWindows(time_s, restarts, 1 / RATE_HZ)
    const gatherer = new ClueGatherer(windows, assignments, new Float32Array(ROWS).fill(NaN))
    for (const one of assignments) gatherer.add(one, COLUMNS.get(one.role) as Float32Array)
    const found = findFlightsIn(gatherer.clues(time_s))
    expect(found).toEqual(expected(roles, restarts))
    if (roles.length > 0) expect(found.length).toBe(2)
  }
})
