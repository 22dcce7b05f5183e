import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createHash } from 'node:crypto'
import { afterAll, describe, expect, test } from 'vitest'
import {
  contentHash,
  inspectLog,
  readColumn,
  readColumnValues,
  readLog,
} from '../../../electron/intake/intake.ts'
import { sharedData } from '../../shared-data.ts'
import reference from '../../fixtures/intake/shared-columns.json' with { type: 'json' }

const folder = mkdtempSync(join(tmpdir(), 'twopack-intake-'))
afterAll(() => rmSync(folder, { recursive: true }))

type Name = keyof typeof reference

/** Facts of the shared data's README: rows, mean rate in Hz, gyro RMS by axis in the file's unit. */
const FACTS: readonly { file: Name; rate_hz: number; rateDigits: number; rms?: readonly number[] }[] = [
  {
    file: 'research-quad/gains-original.csv',
    rate_hz: 100.0918,
    rateDigits: 4,
    rms: [0.391033, 0.473105, 0.143141],
  },
  {
    file: 'research-quad/gains-i0-d4.csv',
    rate_hz: 100.089,
    rateDigits: 4,
    rms: [0.362009, 0.443031, 0.140414],
  },
  { file: 'research-quad/figure-eight.csv', rate_hz: 99.9, rateDigits: 1 },
  { file: 'neutral/ecg-360hz.csv.gz', rate_hz: 360, rateDigits: 5 },
]

/** What each log's columns mean, by the README of the shared data and a look at the headers. */
const pitchTurned = [
  'gyro.roll imu_gyro_x radps 1',
  'gyro.pitch imu_gyro_y radps -1',
  'gyro.yaw imu_gyro_z radps 1',
]
const gains = [
  'time time_s s 1',
  ...['roll r', 'pitch p', 'yaw y'].map((axis) => `gyro.${axis.replace(' ', ' real_rate.')} radps 1`),
  ...['roll r', 'pitch p', 'yaw y'].map((axis) => `setpoint.${axis.replace(' ', ' target_rate.')} dps 1`),
  'throttle target_rate.thrust bits16 1',
]
const controller = [
  'time time_s s 1',
  ...pitchTurned,
  'throttle pid_controller_cmd_thrust bits16 1',
  ...[1, 2, 3, 4].map((motor) => `motor.${motor} motor_motor_m${motor} bits16 1`),
  'battery pwr_pm_vbat volt 1',
]
const MEANINGS: readonly (readonly [Name, readonly string[]])[] = [
  ['research-quad/gains-original.csv', gains],
  ['research-quad/gains-i0-d4.csv', gains],
  [
    'research-quad/figure-eight.csv',
    [...gains, ...[1, 2, 3, 4].map((motor) => `motor.${motor} motor.m${motor} bits16 1`)],
  ],
  ['research-quad/controller-a.csv', controller],
  ['research-quad/controller-b.csv', controller],
  [
    'neutral/bursty-clock.csv',
    [
      'time Time (s) s 1',
      ...['roll X', 'pitch Y', 'yaw Z'].map(
        (axis) => `gyro.${axis.replace(' ', ' Gyroscope ')} (deg/s) dps 1`,
      ),
    ],
  ],
  ['neutral/ecg-360hz.csv.gz', ['time time s 1']],
]

describe('the shared logs', () => {
  test.each(MEANINGS)('%s: what its columns mean', async (name, meanings) => {
    const path = sharedData(name)
    if (!path) return
    const log = await readLog(path, { columnFile: join(folder, 'columns') })
    expect(log.assignments.map((one) => `${one.role} ${one.name} ${one.unit} ${one.sign}`)).toEqual(meanings)
    for (const one of log.assignments)
      expect(one).toMatchObject({ setBy: 'program', how: expect.stringMatching(/\.$/) })
    if (name.includes('controller')) {
      expect(log.assignments[2]?.how).toContain('its sign is turned')
      expect(log.notices).toContainEqual({
        level: 'missing',
        text: 'No setpoint was found.',
        cost: 'Tracking error and lag can’t be given.',
      })
    }
  })

  test.each(Object.keys(reference) as Name[])('%s agrees with Python’s csv and numpy', async (name) => {
    const path = sharedData(name)
    if (!path) return
    const columnFile = join(folder, 'columns')
    const log = await readLog(path, { columnFile })
    expect(log.rows).toBe(reference[name].rows)
    expect(log.columns.map((column) => column.name)).toEqual(
      reference[name].columns.map((column) => column.name),
    )
    for (const column of log.columns) {
      const values = await readColumnValues(columnFile, log.layout, column.index)
      const expected = reference[name].columns[column.index]
      if (!expected) throw new Error(`no reference for ${column.name}`)
      let sum = 0
      let square = 0
      for (const value of values) {
        sum += value
        square += value * value
      }
      const single = values instanceof Float32Array
      // numpy adds pairwise, this loop in order: a few units in the last place per thousand rows.
      const size = expected.rms * values.length
      expect(Math.abs(sum - (single ? expected.sumOfSingles : expected.sum))).toBeLessThanOrEqual(
        1e-12 * size,
      )
      expect(Math.abs(Math.sqrt(square / values.length) - expected.rms)).toBeLessThanOrEqual(
        1e-6 * expected.rms,
      )
      const fit = (value: number): number => (single ? Math.fround(value) : value)
      expect([column.min, column.max]).toEqual([fit(expected.min), fit(expected.max)])
    }
    expect(log.contentHash).toBe(createHash('sha256').update(readFileSync(path)).digest('hex'))
    const rowBytes = log.layout.columns.reduce((sum, column) => sum + (column.type === 'f64' ? 8 : 4), 0)
    // Of each 64 rows, the extremes of a 32-bit column or the first value of a 64-bit one.
    const levelBytes = 8 * Math.ceil(log.rows / 64) * log.layout.columns.length
    expect(statSync(columnFile).size).toBe(log.rows * rowBytes + levelBytes)
  })

  test.each(FACTS)('$file has the published rate and gyro', async ({ file, rate_hz, rateDigits, rms }) => {
    const path = sharedData(file)
    if (!path) return
    const columnFile = join(folder, 'columns')
    const log = await readLog(path, { columnFile })
    expect(log.clock.effectiveRate_hz).toBeCloseTo(rate_hz, rateDigits)
    for (const [index, axis] of (['roll', 'pitch', 'yaw'] as const).entries()) {
      const expected = rms?.[index]
      if (expected === undefined) continue
      const gyro = log.assignments.find((assignment) => assignment.role === `gyro.${axis}`)
      expect(gyro?.unit).toBe('radps')
      const values = await readColumnValues(columnFile, log.layout, gyro?.column ?? -1)
      let square = 0
      for (const value of values) square += value * value
      const found = Math.sqrt(square / values.length)
      // The README rounds to six digits: 1e-5 relative is checked against half of its last digit.
      expect(Math.abs(found / expected - 1)).toBeLessThan(1e-5)
    }
  })

  const original = sharedData('research-quad/gains-original.csv')
  test.skipIf(!original)('inspecting, hashing and reading agree', async () => {
    const path = original as string
    const columnFile = join(folder, 'columns')
    const look = await inspectLog(path, { fileName: 'before.csv' })
    const log = await readLog(path, { columnFile, fileName: 'before.csv' })
    expect(look.fileName).toBe('before.csv')
    expect(look.headerKey).toBe(log.headerKey)
    expect(look.bytes).toBe(643528)
    expect(look.dialect).toEqual({
      separator: ',',
      decimal: '.',
      headerLine: 1,
      firstDataLine: 2,
      compression: 'none',
    })
    expect(look.assignments.map((one) => [one.role, one.name, one.unit])).toEqual(
      log.assignments.map((one) => [one.role, one.name, one.unit]),
    )
    expect(look.columns[1]?.examples).toEqual(['-0.00037567917', '-1.00924826e-05', '0.00261959527'])
    expect(await contentHash(path)).toBe(log.contentHash)
    const [bytes] = await readColumn(columnFile, log.layout, 1)
    expect(bytes?.byteLength).toBe(log.rows * 4)
  })

  test.skipIf(!original)('a choice of the pilot is used as it is', async () => {
    const look = await inspectLog(original as string)
    const assignments = look.assignments
      .slice(0, 2)
      .map((one) => ({ ...one, setBy: 'pilot' as const, sign: -1 as const }))
    const log = await readLog(original as string, { columnFile: join(folder, 'columns'), assignments })
    expect(log.assignments).toEqual(assignments)
  })
})
