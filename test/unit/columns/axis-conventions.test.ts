import { expect, test } from 'vitest'
import {
  AXIS_CONVENTIONS,
  withConvention,
  type AxisConvention,
} from '../../../workers/columns/axis-conventions.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'

const assignments = (['gyro.roll', 'gyro.pitch', 'gyro.yaw', 'throttle'] as const).map(
  (role, column): Assignment => ({
    role,
    column,
    name: 'xyzt'[column] as string,
    unit: role === 'throttle' ? 'share' : 'radps',
    sign: 1,
    sure: 'likely',
    setBy: 'program',
    how: 'By its letter.',
  }),
)

/** Columns of the program's axes in terms of the log's, as a matrix of rows roll, pitch, yaw. */
function matrix(convention: AxisConvention): number[][] {
  const turned = withConvention(assignments, 'gyro', convention)
  return (['gyro.roll', 'gyro.pitch', 'gyro.yaw'] as const).map((role) => {
    const row = [0, 0, 0]
    const one = turned.find((candidate) => candidate.role === role)
    if (one) row[one.column] = one.sign
    return row
  })
}

test('every convention is a rotation: its matrix has determinant 1', () => {
  for (const convention of Object.keys(AXIS_CONVENTIONS) as AxisConvention[]) {
    const [r, p, y] = matrix(convention) as [number[], number[], number[]]
    const term = (i: number, j: number, k: number): number =>
      (r[i] as number) * (p[j] as number) * (y[k] as number)
    const determinant =
      term(0, 1, 2) + term(1, 2, 0) + term(2, 0, 1) - term(0, 2, 1) - term(1, 0, 2) - term(2, 1, 0)
    expect(determinant).toBe(1)
  }
})

test('the program’s own convention changes nothing but who said it; the throttle is never touched', () => {
  const same = withConvention(assignments, 'gyro', 'forward-right-down')
  expect(same.map(({ role, column, sign }) => [role, column, sign])).toEqual(
    assignments.map(({ role, column, sign }) => [role, column, sign]),
  )
  expect(same[3]).toBe(assignments[3])
  expect(same[0]?.setBy).toBe('pilot')
})

test('x forward, y left, z up: right-handed turns about y and z run against nose up and to the right', () => {
  expect(matrix('forward-left-up')).toEqual([
    [1, 0, 0],
    [0, -1, 0],
    [0, 0, -1],
  ])
})
