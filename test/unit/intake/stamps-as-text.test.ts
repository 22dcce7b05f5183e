import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import { readColumnValues, readLog } from '../../../electron/intake/intake.ts'

const folder = mkdtempSync(join(tmpdir(), 'twopack-stamps-'))
const columnFile = join(folder, 'columns')
afterAll(() => rmSync(folder, { recursive: true }))

const ROWS = 3000
/** 2 ms apart, a hair uneven, over a midnight: 1 s before it to 5 s after. */
const at_us = (k: number): number => 2000 * k + (k % 3)
const START = Date.UTC(2024, 4, 1, 23, 59, 59)

function iso(k: number): string {
  const us = at_us(k)
  const text = new Date(START + Math.floor(us / 1000)).toISOString().slice(0, -1)
  return `${text}${String(us % 1000).padStart(3, '0')}`
}

function log(stamp: (k: number) => string, separator: string, decimal: string, head: string): string {
  const cell = (value: number): string => value.toFixed(3).replace('.', decimal)
  const row = (k: number): string =>
    [stamp(k), cell(200 * Math.sin(k / 30)), cell(200 * Math.sin((k + 4) / 30))].join(separator)
  return `${[head, 'gyro_roll_dps', 'setpoint_roll_dps'].join(separator)}\n${Array.from({ length: ROWS }, (_, k) => row(k)).join('\n')}\n`
}

async function read(text: string) {
  const path = join(folder, 'log.csv')
  writeFileSync(path, text)
  return readLog(path, { columnFile })
}

describe('a clock written as dates and times', () => {
  test.each<[string, string]>([
    ['ISO 8601 in UTC', log((k) => `${iso(k)}Z`, ',', '.', 'when')],
    ['a zone', log((k) => `${iso(k)}+02:00`, ';', ',', 'Datum')],
    [
      'a space and decimal commas',
      log((k) => iso(k).replace('T', ' ').replace('.', ','), ';', ',', 'timestamp'),
    ],
    ['a space among tabs', log((k) => iso(k).replace('T', ' '), '\t', '.', 'time')],
    ['quotes', log((k) => `"${iso(k)}"`, ',', '.', 'time')],
    [
      'no header',
      log((k) => iso(k), ',', '.', 'x')
        .split('\n')
        .slice(1)
        .join('\n'),
    ],
  ])('%s', async (label, text) => {
    const found = await read(text)
    expect(found.rows).toBe(ROWS)
    expect(found.assignments[0]).toMatchObject({ role: 'time', column: 0, unit: 's' })
    if (label !== 'no header') expect(found.assignments).toHaveLength(3)
    // To the last bit: the double nearest to the decimal difference.
    const stamps = await readColumnValues(columnFile, found.layout, 0)
    for (const k of [0, 1, 2, 499, 500, ROWS - 1]) expect(stamps[k]).toBe(Number(`${at_us(k)}e-6`))
    expect(found.clock).toMatchObject({ backward: 0, wraps: 0, gaps: 0 })
    expect(found.clock.effectiveRate_hz).toBeCloseTo(500, 2)
  })

  test('times of day alone', async () => {
    const found = await read(
      log((k) => `12:${iso(k).slice(14)}`.replace('12:59', '11:59'), ',', '.', 'clock'),
    )
    expect(found.assignments[0]).toMatchObject({ role: 'time', unit: 's' })
    expect(found.clock.duration_s).toBeCloseTo(at_us(ROWS - 1) / 1e6, 9)
  })

  test('a stamp that is none ends the reading with its place', async () => {
    const lines = log((k) => iso(k), ',', '.', 'time').split('\n')
    lines[2000] = lines[2000]!.replace(/^[^,]+/, '2024-05-41T00:00:00')
    await expect(read(lines.join('\n'))).rejects.toMatchObject({
      code: 'bad-number',
      message: 'log.csv, line 2001, column 1 (time): "2024-05-41T00:00:00" is not a number.',
    })
    lines[2000] = lines[2000]!.replace(/^[^,]+/, '17')
    await expect(read(lines.join('\n'))).rejects.toMatchObject({ code: 'bad-number' })
  })

  test('a column of days alone stays text', async () => {
    const found = await read(log((k) => `2024-05-01,${k}`, ',', '.', 'date,time_ms'))
    expect(found.columns[0]?.type).toBe('text')
    expect(found.assignments[0]).toMatchObject({ role: 'time', column: 1, unit: 'ms' })
  })
})
