import { describe, expect, test } from 'vitest'
import { rowData } from '../../../renderer/compare/plot-data.ts'
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

describe('what a row draws', () => {
  test('few samples are drawn as they are, two flights of other rates on one x', () => {
    const a = flightOf(100, 11, (index) => index)
    const b = flightOf(50, 6, (index) => 10 * index)
    const [x, ya, yb] = rowData(
      [
        { flight: a, shift_s: 0, channel: 'gyro.roll' },
        { flight: b, shift_s: 0.005, channel: 'gyro.roll' },
      ],
      { t0_s: 0, t1_s: 0.11 },
      100,
    ) as [number[], (number | null | undefined)[], (number | null | undefined)[]]
    expect([...x].sort((m, n) => m - n)).toEqual([...x])
    expect(x.filter((_, index) => ya[index] != null).length).toBe(11)
    expect(x.filter((_, index) => yb[index] != null).map((at) => at.toFixed(3))).toEqual([
      '0.005',
      '0.025',
      '0.045',
      '0.065',
      '0.085',
      '0.105',
    ])
    // Where only the other flight has a sample, the line goes on: undefined, not null.
    expect(ya.includes(null)).toBe(false)
  })

  test('a gap of the clock breaks the line', () => {
    const a = flightOf(100, 40, (index) => index, [10, 20])
    const [x, y] = rowData([{ flight: a, shift_s: 0, channel: 'gyro.roll' }], { t0_s: 0, t1_s: 1 }, 100) as [
      number[],
      (number | null)[],
    ]
    const broken = y.indexOf(null)
    expect(x[broken]).toBeGreaterThan(0.09)
    expect(x[broken]).toBeLessThan(0.2)
  })

  test('many samples are drawn by their extremes: a single spike is never lost', () => {
    const a = flightOf(1000, 100_000, (index) => (index === 54_321 ? 900 : 0))
    const [x, y] = rowData(
      [{ flight: a, shift_s: 0, channel: 'gyro.roll' }],
      { t0_s: 0, t1_s: 100 },
      300,
    ) as [number[], number[]]
    expect(x.length).toBe(600)
    expect(Math.max(...y)).toBe(900)
    expect(x[y.indexOf(900)]).toBeCloseTo(54.3, 0)
  })
})

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
