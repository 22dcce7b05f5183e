import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { readColumnValues } from '../../../electron/intake/column-file.ts'
import { readLog } from '../../../electron/intake/intake.ts'
import { prepareSignals, type FlightSignals, type RawColumn } from '../../../workers/flight/signals.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'
import {
  excerptColumns,
  excerptCsv,
  excerptLeavesOut,
  excerptSize,
  MOST_CELLS,
} from '../../../workers/share/excerpt.ts'
import { HOSTILE } from './hostile.ts'

const column = (index: number, name: string, type: 'f32' | 'f64' | 'text' = 'f32') => ({
  index,
  name,
  type,
  examples: [],
  min: null,
  max: null,
})
const meaning = (role: Assignment['role'], index: number, unit: Assignment['unit']): Assignment => ({
  role,
  column: index,
  name: role,
  unit,
  sign: 1,
  sure: 'certain',
  setBy: 'program',
  how: '',
})

const signals: FlightSignals = {
  t_s: Float64Array.from({ length: 100 }, (_, index) => index / 100),
  rate_hz: 100,
  channels: { 'gyro.roll': Float32Array.from({ length: 100 }, (_, index) => index - 50.25) },
}
const columns = excerptColumns(
  [
    column(0, 'clock', 'f64'),
    column(1, 'roll rate'),
    column(2, 'GPS lat'),
    column(3, 'rssi'),
    column(4, 'mode', 'text'),
  ],
  [meaning('time', 0, 'us'), meaning('gyro.roll', 1, 'radps')],
)

describe('columns of an excerpt', () => {
  test('those with a meaning are in; positions and unknown ones wait to be chosen; clocks and text are none', () => {
    expect(columns.map(({ head, tells, usual }) => [head, tells, usual])).toEqual([
      ['gyro roll (deg/s)', null, true],
      ['GPS lat (as logged)', 'position', false],
      ['rssi (as logged)', null, false],
    ])
  })

  test('what stays out is said with its reason', () => {
    const usual = columns.filter((one) => one.usual)
    expect(excerptLeavesOut(columns, usual)).toEqual([
      'The name of the log, its path, the day and hour and the lines above its table are never in an excerpt.',
      '1 column that may tell a position.',
      '1 column that was not chosen.',
    ])
    expect(excerptLeavesOut(columns, columns)).toHaveLength(1)
  })
})

describe('an excerpt', () => {
  const raw = new Map([[2, Float32Array.from({ length: 100 }, () => 47.5)]])
  const cut = (t0_s: number, t1_s: number) =>
    [...excerptCsv({ signals, columns: columns.slice(0, 2), raw, t0_s, t1_s })].join('')

  test('has its own clock and units in the header, both ends of the span, numbers as numbers', () => {
    expect(cut(0.1, 0.12)).toBe(
      'time (s),gyro roll (deg/s),GPS lat (as logged)\r\n0.100000,-40.25,47.5\r\n0.110000,-39.25,47.5\r\n0.120000,-38.25,47.5\r\n',
    )
  })

  test('an empty span and one too long for a helper are refused in a sentence', () => {
    expect(() => cut(5, 6)).toThrow(/no samples in the chosen span/)
    const long: FlightSignals = {
      ...signals,
      t_s: Float64Array.from({ length: MOST_CELLS }, (_, index) => index),
      channels: { 'gyro.roll': new Float32Array(MOST_CELLS) },
    }
    const request = { signals: long, columns: columns.slice(0, 1), raw: new Map(), t0_s: 0, t1_s: MOST_CELLS }
    expect(excerptSize(request)).toEqual({ rows: MOST_CELLS, cells: 2 * MOST_CELLS })
    expect(() => [...excerptCsv(request)]).toThrow(/no small excerpt/)
  })

  test('hostile headers stay one cell, and none is a formula', () => {
    for (const { text } of HOSTILE) {
      const hostile = excerptColumns([column(2, text)], [])
      const [head = ''] = [...excerptCsv({ signals, columns: hostile, raw, t0_s: 0, t1_s: 0 })]
      const cell = head.slice('time (s),'.length)
      expect(cell).not.toMatch(/^"?[=+\-@\t\r]/)
      if (/[",\r\n]/.test(text)) expect(cell).toMatch(/^"[^]*"\r\n$/)
    }
  })
})

describe('read back by the program itself', () => {
  let folder: string
  beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'twopack-excerpt-'))))
  afterEach(() => rmSync(folder, { recursive: true, force: true }))

  test('an excerpt has the same meanings, units and samples', async () => {
    const roles = [
      'gyro.roll',
      'gyro.pitch',
      'setpoint.roll',
      'setpoint.pitch',
      'stick.roll',
      'throttle',
      'motor.1',
      'motor.2',
      'motor.3',
      'motor.4',
    ] as const
    const rows = 4000
    const wave = (at: number, kind: number) =>
      Math.fround(120 * Math.sin(at / (20 + 3 * kind)) + Math.sin(at * 1.7 + kind))
    const flown: FlightSignals = {
      t_s: Float64Array.from({ length: rows }, (_, index) => index / 500),
      rate_hz: 500,
      channels: Object.fromEntries(
        roles.map((role, kind) => [
          role,
          Float32Array.from({ length: rows }, (_, at) =>
            role === 'throttle' || role.startsWith('motor')
              ? 0.5 + wave(at, kind) / 400
              : role === 'stick.roll'
                ? wave(at, kind) / 150
                : wave(at, kind),
          ),
        ]),
      ),
    }
    const all = excerptColumns(
      [],
      roles.map((role, index) => meaning(role, index, 'dps')),
    )
    const csv = [...excerptCsv({ signals: flown, columns: all, raw: new Map(), t0_s: 2, t1_s: 6 })].join('')
    const path = join(folder, 'excerpt.csv')
    writeFileSync(path, csv)
    const columnFile = join(folder, 'columns')
    const log = await readLog(path, { columnFile })
    expect(log.assignments.map(({ role }) => role).sort()).toEqual(['time', ...roles].sort())
    const raw = new Map<number, RawColumn>()
    for (const { column } of log.assignments)
      raw.set(column, await readColumnValues(columnFile, log.layout, column))
    const read = prepareSignals(log.assignments, (index) => raw.get(index)!)
    expect(read.t_s).toHaveLength(2001)
    for (const role of roles) {
      const own = flown.channels[role]!.subarray(1000, 3001)
      read.channels[role]!.forEach((value, at) => expect(Math.abs(value - own[at]!)).toBeLessThan(1e-4))
    }
  })
})
