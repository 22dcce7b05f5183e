import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createHash } from 'node:crypto'
import { gzipSync } from 'node:zlib'
import { tableFromArrays, tableToIPC } from 'apache-arrow'
import { afterAll, describe, expect, test } from 'vitest'
import { readLevel } from '../../../electron/intake/column-file.ts'
import { inspectLog, readColumnValues, readLog } from '../../../electron/intake/intake.ts'
import { parseStoredLog } from '../../../electron/library/stored-log.ts'
import type { ReadLog } from '../../../workers/log/log.ts'
import { Problem } from '../../../workers/log/problems.ts'

/**
 * Tables written by two outside writers; see test/reference/intake/typed_tables.py and generated_duckdb.mjs, which have
 * the same formulas.
 */
const TABLES = join(import.meta.dirname, '../../fixtures/intake/typed')
const folder = mkdtempSync(join(tmpdir(), 'twopack-typed-'))
const columnFile = join(folder, 'columns')
afterAll(() => rmSync(folder, { recursive: true }))

const ROWS = 600
const rows = Array.from({ length: ROWS }, (_, k) => k)
const sinceFirst_ns = (k: number): number => 1_000_000 * k + ((k * 37) % 101)
const roll = (k: number): number => (k % 400 < 200 ? (k % 400) - 100 : 300 - (k % 400)) * 2.5

/** What stands in each stored column, by its index. */
const COLUMNS: readonly { index: number; values: number[] }[] = [
  { index: 0, values: rows.map(sinceFirst_ns) },
  { index: 1, values: rows.map(roll) },
  { index: 2, values: rows.map((k) => (k % 7 === 0 ? NaN : roll(k) / 2)) },
  { index: 3, values: rows.map((k) => ((k * 7) % 31) - 15) },
  { index: 4, values: rows.map((k) => roll(k + 12)) },
  { index: 5, values: rows.map((k) => Math.fround((40_000 + ((k * 331) % 700)) / 1000)) },
  { index: 6, values: rows.map((k) => (k >= 100 ? 1 : 0)) },
  { index: 7, values: rows.map((k) => 2 ** 40 + k * k) },
]

async function numbersOf(log: ReadLog, index: number): Promise<number[]> {
  return Array.from(await readColumnValues(columnFile, log.layout, index))
}

const WRITTEN = [
  ...['none', 'snappy', 'gzip', 'brotli', 'zstd', 'lz4', 'duckdb-snappy', 'duckdb-zstd'].map(
    (packing) => `flight-${packing}.parquet`,
  ),
  'flight.arrow',
  'flight.arrows',
  'flight-lz4.feather',
  'flight-zstd.feather',
]

describe.each(WRITTEN)('%s', (name) => {
  const path = join(TABLES, name)

  test('is read to the last bit', async () => {
    const log = await readLog(path, { columnFile })
    expect(log.rows).toBe(ROWS)
    expect(log.dialect.format).toBe(name.endsWith('.parquet') ? 'parquet' : 'arrow')
    expect(log.contentHash).toBe(createHash('sha256').update(readFileSync(path)).digest('hex'))
    for (const { index, values } of COLUMNS) expect(await numbersOf(log, index)).toEqual(values)
    // The first stamp stands beside the differences, exact.
    expect(log.layout.columns[0]).toEqual({ index: 0, type: 'f64', origin: '1700000000123456789' })
    expect(log.clock).toMatchObject({ rows: ROWS, wraps: 0, duplicates: 0, backward: 0, gaps: 0 })
    expect(log.clock.duration_s).toBeCloseTo(sinceFirst_ns(ROWS - 1) / 1e9, 12)
  })

  test('is named by meaning, with its texts and lists told', async () => {
    const look = await inspectLog(path)
    expect(look.assignments.map((one) => `${one.role} ${one.name} ${one.unit} ${one.sign}`)).toEqual([
      'time stamp ns 1',
      'gyro.roll gyro.roll [deg/s] dps 1',
      'gyro.pitch gyro.pitch [deg/s] dps 1',
      'gyro.yaw gyro.yaw [deg/s] dps 1',
      'setpoint.roll setpoint.roll [deg/s] dps 1',
      'throttle throttle [%] percent 1',
    ])
    expect(look.assignments[0]).toMatchObject({ sure: 'certain' })
    expect(look.assignments[0]?.how).toBe(
      '“stamp” holds dates or times and rises all along; they are exact in the file.',
    )
    expect(look.columns.map(({ type }) => type)).toEqual([
      'f64',
      'f32',
      'f32',
      'f32',
      'f32',
      'f32',
      'f32',
      'f64',
      'text',
      'text',
      'text',
    ])
    expect(look.columns[8]?.examples).toEqual(['hold', 'hold', 'hold'])
    expect(look.columns[9]?.examples).toEqual(['row 0', 'row 1', 'row 2'])
    expect(look.columns[1]).toMatchObject({ min: -250, max: 250 })
    expect(look.notices.map(({ text }) => text)).toContain(
      '“position” holds lists or records and was left out.',
    )
    expect(look.preamble).toEqual([
      { name: 'craft', value: 'Green wasp' },
      { name: 'date', value: '2023-11-14' },
    ])
  })
})

describe('a typed table', () => {
  test('has the level of smallest and largest values that its rows have', async () => {
    const log = await readLog(join(TABLES, 'flight-zstd.parquet'), { columnFile })
    const level = await readLevel(columnFile, log.layout, 2)
    const { values } = COLUMNS[2]!
    for (let block = 0; block * 64 < ROWS; block += 1) {
      const some = values.slice(block * 64, block * 64 + 64).filter((value) => !Number.isNaN(value))
      expect(level?.min[block]).toBe(Math.min(...some))
      expect(level?.max[block]).toBe(Math.max(...some))
    }
  })

  test('is stored and parsed again; logs of the older shape are, too', async () => {
    const log = await readLog(join(TABLES, 'flight.arrow'), { columnFile })
    expect(parseStoredLog(JSON.stringify(log))).toMatchObject({ rows: ROWS, dialect: log.dialect })
    const older = { separator: ',', decimal: '.', headerLine: 1, firstDataLine: 2 }
    for (const compression of ['none', 'gzip', 'zstd']) {
      const stored = parseStoredLog(JSON.stringify({ ...log, dialect: { ...older, compression } }))
      expect(stored.dialect.compression).toBe(compression)
    }
  })

  test('has stamps in other units', async () => {
    const stamps = rows.slice(0, 20).map(sinceFirst_ns)
    const int96 = await readLog(join(TABLES, 'int96.parquet'), { columnFile })
    expect(int96.assignments[0]).toMatchObject({ role: 'time', unit: 'ns' })
    expect(await numbersOf(int96, 0)).toEqual(stamps)
    const micros = await readLog(join(TABLES, 'micros.parquet'), { columnFile })
    expect(micros.assignments[0]).toMatchObject({ role: 'time', unit: 'us' })
    const first_ns = 1_700_000_000_123_456_789n
    const whole = (k: number): bigint => (first_ns + BigInt(sinceFirst_ns(k))) / 1000n
    expect(await numbersOf(micros, 0)).toEqual(rows.slice(0, 20).map((k) => Number(whole(k) - whole(0))))
  })

  test('may have names twice, and none that mean anything in a program', async () => {
    const table = tableFromArrays({
      __proto__x: Float64Array.from(rows, roll),
      time_us: Float64Array.from(rows, (k) => 1000 * k),
      constructor: Float32Array.from(rows, roll),
    })
    const path = join(folder, 'odd-names.arrow')
    writeFileSync(path, tableToIPC(table, 'file'))
    const log = await readLog(path, { columnFile })
    expect(log.columns.map(({ name }) => name)).toEqual(['__proto__x', 'time_us', 'constructor'])
    expect(await numbersOf(log, 2)).toEqual(rows.map(roll))
  })

  test('reports how far it is and stops when told', async () => {
    const done: number[] = []
    const path = join(TABLES, 'flight-none.parquet')
    await readLog(path, { columnFile, onProgress: (progress) => done.push(progress.done) })
    expect(done.at(-1)).toBe(1)
    expect(done).toEqual(done.toSorted((a, b) => a - b))
    const signal = AbortSignal.abort()
    await expect(readLog(path, { columnFile, signal })).rejects.toMatchObject({ code: 'cancelled' })
  })
})

/** The sentence of the Problem that reading these bytes ends in. */
async function sentence(bytes: Uint8Array, name: string): Promise<string> {
  const path = join(folder, name)
  writeFileSync(path, bytes)
  const thrown: unknown = await readLog(path, { columnFile }).catch((problem: unknown) => problem)
  expect(thrown).toBeInstanceOf(Problem)
  return (thrown as Problem).message
}

describe('what cannot be read', () => {
  const parquet = readFileSync(join(TABLES, 'flight-snappy.parquet'))
  const arrow = readFileSync(join(TABLES, 'flight.arrow'))
  const stream = readFileSync(join(TABLES, 'flight.arrows'))

  test('a Parquet table that is cut off, encrypted, packed once more, or only begins like one', async () => {
    const cut = 'a.parquet is cut off: the end of a Parquet table is missing.'
    expect(await sentence(parquet.subarray(0, parquet.length >> 1), 'a.parquet')).toBe(cut)
    expect(await sentence(parquet.subarray(0, 4), 'a.parquet')).toBe(cut)
    const locked = 'a.parquet is an encrypted Parquet table, which can’t be read.'.replace('’', "'")
    const magic = Buffer.from('PARE')
    expect(await sentence(Buffer.concat([magic, parquet.subarray(4, -4), magic]), 'a.parquet')).toBe(locked)
    expect(await sentence(Buffer.concat([parquet.subarray(0, -4), magic]), 'a.parquet')).toBe(locked)
    expect(await sentence(gzipSync(parquet), 'a.parquet.gz')).toBe(
      'a.parquet.gz is a Parquet table within an archive: unpack it first.',
    )
    expect(await sentence(Buffer.from('PAR1 is what this text begins with PAR1'), 'a.csv')).toMatch(
      /^a\.csv is a damaged Parquet table: .+\.$/,
    )
  })

  test('tables without rows or without columns of numbers', async () => {
    expect(await sentence(readFileSync(join(TABLES, 'no-rows.parquet')), 'a.parquet')).toBe(
      'a.parquet holds columns but no rows.',
    )
    expect(await sentence(readFileSync(join(TABLES, 'nested-only.parquet')), 'a.parquet')).toBe(
      'a.parquet holds no plain columns of numbers.',
    )
    const words = tableToIPC(tableFromArrays({ word: ['a', 'b'] }), 'file')
    expect(await sentence(words, 'a.arrow')).toBe('a.arrow holds no plain columns of numbers.')
  })

  test('damage anywhere is a Problem with one sentence, or numbers; nothing else', async () => {
    for (const [bytes, name] of [
      [parquet, 'a.parquet'],
      [arrow, 'a.arrow'],
      [stream, 'a.arrows'],
      [readFileSync(join(TABLES, 'flight-lz4.feather')), 'a.feather'],
    ] as const) {
      for (let trial = 0; trial < 25; trial += 1) {
        const damaged = Uint8Array.from(bytes)
        const at = Math.floor((bytes.length * (trial + 0.5)) / 25)
        damaged.fill(0xa5 ^ trial, at, at + 16)
        const path = join(folder, name)
        writeFileSync(path, damaged)
        const outcome: unknown = await readLog(path, { columnFile }).catch((problem: unknown) => problem)
        if (!(outcome instanceof Error)) continue
        expect(outcome).toBeInstanceOf(Problem)
        expect(outcome.message).toMatch(/^[^\n]+\.$/)
      }
    }
  })

  test('an Arrow file or stream that is cut off gives its whole batches and a notice', async () => {
    for (const [bytes, name] of [
      [arrow, 'a.arrow'],
      [stream, 'a.arrows'],
    ] as const) {
      const path = join(folder, name)
      writeFileSync(path, bytes.subarray(0, Math.floor(bytes.length * 0.7)))
      const log = await readLog(path, { columnFile })
      expect(log.rows).toBe(250)
      expect(await numbersOf(log, 1)).toEqual(rows.slice(0, 250).map(roll))
      expect(log.notices.map(({ text }) => text)).toContain(
        'The file ends too early, among its rows; what there is was read.',
      )
    }
    expect(await sentence(arrow.subarray(0, 300), 'a.arrow')).toMatch(
      /^a\.arrow is a damaged Arrow table: .+\.$/,
    )
  })
})
