import { describe, expect, test } from 'vitest'
import { nearestSample, stepFrom, valueAt } from '../../../renderer/compare/readout.ts'
import { prepareFlight } from '../../../workers/comparison/prepare-flight.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'

const assign = (role: Assignment['role'], column: number, unit: Assignment['unit']): Assignment => ({
  role,
  column,
  name: '',
  unit,
  sign: 1,
  sure: 'certain',
  setBy: 'pilot',
  how: '',
})

/** A flight at `rate_hz` whose roll gyro is what `value` says; a stretch may be missing. */
function flightOf(
  rate_hz: number,
  count: number,
  value: (index: number) => number,
  without?: [number, number],
) {
  const rows = Array.from({ length: count }, (_, index) => index).filter(
    (index) => !without || index < without[0] || index >= without[1],
  )
  return prepareFlight(
    [assign('time', 0, 's'), assign('gyro.roll', 1, 'dps')],
    new Map<number, Float64Array | Float32Array>([
      [0, Float64Array.from(rows, (index) => index / rate_hz)],
      [1, Float32Array.from(rows, value)],
    ]),
    false,
  )
}

describe('what the cursor reads', () => {
  const { signals } = flightOf(100, 40, (index) => index, [10, 20])
  test('the nearest sample', () => {
    expect(valueAt(signals, 'gyro.roll', 0.051)).toBe(5)
    expect(valueAt(signals, 'gyro.roll', 0.309)).toBe(31)
  })
  test('nothing in a gap, outside, or of what is not logged', () => {
    expect(valueAt(signals, 'gyro.roll', 0.15)).toBeNull()
    expect(valueAt(signals, 'gyro.roll', -1)).toBeNull()
    expect(nearestSample(signals, 99)).toBe(-1)
    expect(valueAt(signals, 'throttle', 0.05)).toBeNull()
  })
  test('steps from sample to sample, also over a gap, and stops at the ends', () => {
    expect(stepFrom(signals, 0.05, 1)).toBeCloseTo(0.06)
    expect(stepFrom(signals, 0.09, 1)).toBeCloseTo(0.2)
    expect(stepFrom(signals, 0, -1)).toBe(0)
    expect(stepFrom(signals, 0.39, 1)).toBeCloseTo(0.39)
  })
})
