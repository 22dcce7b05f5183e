import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gzipSync, zstdCompressSync } from 'node:zlib'
import { tableFromArrays, tableToIPC } from 'apache-arrow'
import { afterAll, beforeEach, describe, expect, test } from 'vitest'
import {
  contentHash,
  inspectLog,
  readColumnValues,
  readLog,
  type ReadOptions,
} from '../../../electron/intake/intake.ts'
import { cannotRead } from '../../../electron/intake/byte-source.ts'
import { readWhole } from '../../../electron/intake/read-whole.ts'
import { Problem } from '../../../workers/log/problems.ts'
import type { ReadLog } from '../../../workers/log/log.ts'

/** Two million rows by an outside writer; see test/reference/intake/generated_duckdb.mjs. */
const LONG_PARQUET = join(import.meta.dirname, '../../fixtures/intake/typed/long.parquet')
const folder = mkdtempSync(join(tmpdir(), 'twopack-bad-'))
const store = join(folder, 'store')
const columnFile = join(store, 'columns')
beforeEach(() => {
  rmSync(store, { recursive: true, force: true })
  mkdirSync(store)
})
afterAll(() => rmSync(folder, { recursive: true }))

function write(name: string, content: string | Uint8Array): string {
  const path = join(folder, name)
  writeFileSync(path, content)
  return path
}

const read = (path: string, options: Partial<ReadOptions> = {}): Promise<ReadLog> =>
  readLog(path, { columnFile, ...options })

/** The Problem that a promise ends in; the store must then be empty. */
async function problemOf(promise: Promise<unknown>): Promise<Problem> {
  const problem = await promise.then(
    () => null,
    (thrown: unknown) => thrown,
  )
  expect(problem).toBeInstanceOf(Problem)
  expect(readdirSync(store)).toEqual([])
  return problem as Problem
}

/** A log of `rows` rows in which the gyro follows the setpoint. */
function flight(rows: number): string[] {
  return Array.from({ length: rows }, (_, k) => {
    const rate = 200 * Math.sin(k / 20)
    return `${k * 1000},${rate.toFixed(3)},${(200 * Math.sin((k + 3) / 20)).toFixed(3)},note`
  })
}
const HEADER = 'time_us,gyro_roll,setpoint_rate_roll,note'

describe('what cannot be read', () => {
  test('an empty file, a header alone, one row', async () => {
    expect((await problemOf(read(write('a.csv', '')))).message).toBe('a.csv is empty.')
    expect((await problemOf(read(write('a.csv', '\n\n')))).code).toBe('empty-file')
    expect((await problemOf(read(write('a.csv', 'time,gyro x\n')))).message).toBe(
      'a.csv holds a header but no rows of numbers.',
    )
    expect((await problemOf(read(write('a.csv', `${HEADER}\n${flight(1).join('\n')}\n`)))).code).toMatch(
      /too-short|no-time/,
    )
  })

  test('a folder, a missing file, a picture, binary data', async () => {
    expect((await problemOf(read(folder, { fileName: 'card' }))).message).toBe('card is a folder, not a log.')
    expect((await problemOf(read(join(folder, 'none.csv')))).message).toBe('none.csv does not exist.')
    const png = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 13)
    expect((await problemOf(read(write('photo.csv', png)))).message).toBe(
      'photo.csv is a picture (PNG), not a log in text form.',
    )
    const noise = Uint8Array.from({ length: 5000 }, (_, k) => (k * 37) % 32)
    expect((await problemOf(read(write('noise.csv', noise)))).code).toBe('not-text')
    expect((await problemOf(inspectLog(join(folder, 'photo.csv')))).code).toBe('not-text')
  })

  test.skipIf(process.getuid?.() === 0)('a file that may not be read', async () => {
    const path = write('secret.csv', HEADER)
    chmodSync(path, 0)
    expect((await problemOf(read(path))).message).toBe("secret.csv can't be read: reading it is not allowed.")
  })

  test('a path that leads nowhere, and what the system says of it', async () => {
    const path = join(write('good.csv', HEADER), 'inner.csv')
    expect((await problemOf(read(path))).message).toBe("inner.csv can't be read: ENOTDIR.")
    const denied = cannotRead('secret.csv', Object.assign(new Error('denied'), { code: 'EACCES' }))
    expect(denied.message).toBe("secret.csv can't be read: reading it is not allowed.")
  })

  test('no time column: refused on reading, told on looking', async () => {
    const path = write(
      'a.csv',
      `gyro x,gyro y\n${flight(50)
        .map((row) => row.split(',').slice(1, 3).join(','))
        .join('\n')}\n`,
    )
    expect((await problemOf(read(path))).code).toBe('no-time')
    const look = await inspectLog(path)
    expect(look.notices.map((notice) => notice.text)).toContain('No time column was found.')
  })

  test('text in a cell of an assigned column, deep in the file', async () => {
    const rows = flight(100_000)
    rows[90_000] = '90000000,oops,1,note'
    const problem = await problemOf(read(write('deep.csv', `${HEADER}\n${rows.join('\n')}\n`)))
    expect(problem.message).toBe('deep.csv, line 90002, column 2 (gyro_roll): "oops" is not a number.')
    expect(problem.place).toEqual({ file: 'deep.csv', line: 90_002, column: 2, columnName: 'gyro_roll' })
  })

  test('text in a cell of an assigned column, in the first rows', async () => {
    const rows = flight(100)
    rows[40] = '40000,oops,1,note'
    const problem = await problemOf(read(write('early.csv', `${HEADER}\n${rows.join('\n')}\n`)))
    expect(problem.place).toMatchObject({ line: 42, column: 2 })
  })

  test('a row with too many cells', async () => {
    const rows = flight(100)
    rows[40] += ',5'
    const problem = await problemOf(read(write('wide.csv', `${HEADER}\n${rows.join('\n')}\n`)))
    expect(problem.message).toBe('wide.csv, line 42 has too many cells: 5 where the header has 4.')
  })

  test('a folder that is not there to store into', async () => {
    const path = write('good.csv', `${HEADER}\n${flight(100).join('\n')}\n`)
    expect((await problemOf(read(path, { columnFile: join(folder, 'nowhere', 'columns') }))).code).toBe(
      'disk',
    )
  })

  test('a damaged archive', async () => {
    const packed = gzipSync(`${HEADER}\n${flight(5000).join('\n')}\n`)
    packed.fill(7, 2000, 2100)
    expect((await problemOf(read(write('bad.csv.gz', packed)))).code).toMatch(
      /cannot-read|bad-number|bad-row/,
    )
  })

  test('a compressed bomb of good rows is bounded', { timeout: 60_000 }, async () => {
    // One packed megabyte, 300 times over: 1 MB on the disk, 300 MB of text that any reader would take for rows.
    const rows = gzipSync(`0,1,2,${'n'.repeat(200)}\n`.repeat(5000), { level: 9 })
    const head = gzipSync(`${HEADER}\n${flight(100).join('\n')}\n`)
    const path = write('bomb.csv.gz', Buffer.concat([head, ...Array.from({ length: 300 }, () => rows)]))
    const problem = await problemOf(read(path))
    expect(problem.code).toBe('too-large')
    expect(problem.message).toBe('bomb.csv.gz unpacks to far more than a log of its size can hold.')
  })

  test('a compressed bomb without a line end ends with a sentence', { timeout: 60_000 }, async () => {
    // Zeros that unpack to a line longer than any log's.
    const packed = gzipSync(new Uint8Array(64 << 20).fill(48))
    expect((await problemOf(read(write('bomb.csv.gz', packed)))).code).toMatch(
      /too-large|not-text|no-columns/,
    )
  })
})

describe('what is read with a notice', () => {
  const texts = (log: ReadLog): string[] => log.notices.map((notice) => notice.text)

  test('a last line that is cut off, a missing line end', async () => {
    const rows = flight(100).join('\n')
    const cut = await read(write('cut.csv', `${HEADER}\n${rows}\n100000,5.`))
    expect(cut.rows).toBe(100)
    expect(texts(cut)).toContain(
      'The last line (102) is cut off and was left out; the rows before it are whole.',
    )
    const open = await read(write('open.csv', `${HEADER}\n${rows}`))
    expect(open.rows).toBe(100)
    expect(texts(open).join()).toContain('The last line has no line end')
  })

  test('an archive that is cut off', async () => {
    const packed = gzipSync(`${HEADER}\n${flight(20_000).join('\n')}\n`)
    const log = await read(write('cut.csv.gz', packed.subarray(0, packed.length / 2)))
    expect(log.rows).toBeGreaterThan(2000)
    expect(log.rows).toBeLessThan(20_000)
    expect(texts(log)).toContain('The archive ends too early; what there is was read.')
    const values = await readColumnValues(columnFile, log.layout, 0)
    expect(Array.from(values.subarray(0, 3))).toEqual([0, 1000, 2000])
  })

  test('duplicate names, names that are words of the language', async () => {
    const rows = flight(100).map((row) => row.replace('note', '1'))
    const log = await read(write('names.csv', `time_us,gyro_roll,__proto__,__proto__\n${rows.join('\n')}\n`))
    expect(texts(log).join()).toContain('the same name to several columns (“__proto__”)')
    expect(log.columns.map((column) => column.name)).toEqual([
      'time_us',
      'gyro_roll',
      '__proto__',
      '__proto__',
    ])
  })

  test('100,000 columns', { timeout: 60_000 }, async () => {
    const names = Array.from({ length: 99_998 }, (_, column) => `extra ${column}`)
    const lines = flight(12).map((row, k) => [...row.split(',').slice(0, 2), ...names.map(() => k)].join(','))
    const log = await read(write('many.csv', `time_us,gyro_roll,${names.join(',')}\n${lines.join('\n')}\n`))
    expect(log.columns).toHaveLength(100_000)
    expect(log.rows).toBe(12)
    const last = await readColumnValues(columnFile, log.layout, 99_999)
    expect(Array.from(last)).toEqual(lines.map((_, k) => k))
  })

  test('a wide header above two million blank lines', async () => {
    const names = Array.from({ length: 1998 }, (_, column) => `extra ${column}`)
    const lines = flight(12).map((row, k) => [...row.split(',').slice(0, 2), ...names.map(() => k)].join(','))
    const log = await read(
      write(
        'blank.csv',
        `time_us,gyro_roll,${names.join(',')}\n${lines.join('\n')}\n${'\n'.repeat(2_000_000)}`,
      ),
    )
    expect(log.rows).toBe(12)
    expect(log.columns).toHaveLength(2000)
  })

  test('a line of a megabyte is read, one of 17 MB is no line of a log', { timeout: 60_000 }, async () => {
    const rows = flight(200)
    rows[150] = `150000,1.5,2.5,"${'x, '.repeat(1 << 19)}"`
    const log = await read(write('long.csv', `${HEADER}\n${rows.join('\n')}\n`))
    expect(log.rows).toBe(200)
    expect(Array.from((await readColumnValues(columnFile, log.layout, 1)).subarray(149, 152))[1]).toBe(1.5)
    rmSync(columnFile)
    rows[150] = `150000,1.5,2.5,"${'x, '.repeat(6 << 20)}"`
    const problem = await problemOf(read(write('longer.csv', `${HEADER}\n${rows.join('\n')}\n`)))
    expect(problem.code).toBe('not-text')
    expect(problem.message).toBe('longer.csv, line 152 is longer than any line of a log.')
  })

  test('truncated at every byte: the rows that are whole, and a notice', { timeout: 60_000 }, async () => {
    const whole = `${HEADER}\n${flight(12).join('\n')}\n`
    const path = join(folder, 'cut.csv')
    const rolls = flight(12).map((row) => Number(row.split(',')[1]))
    for (let end = whole.indexOf('\n', whole.length - 100) + 1; end <= whole.length; end += 1) {
      writeFileSync(path, whole.slice(0, end))
      const temporary = join(store, 'part')
      const log = await readWhole(
        { path, fileName: 'cut.csv', temporary, assignments: null, contentHash: null },
        () => undefined,
        () => undefined,
      )
      const complete = whole.slice(0, end).split('\n').length - 2
      expect(log.rows - complete).toBeLessThanOrEqual(1)
      const values = await readColumnValues(temporary, log.layout, 1)
      expect(Array.from(values.subarray(0, complete), Math.fround)).toEqual(
        rolls.slice(0, complete).map(Math.fround),
      )
      const told = texts(log).filter((text) => text.startsWith('The last line'))
      expect(told).toHaveLength(whole[end - 1] === '\n' ? 0 : 1)
      rmSync(temporary)
    }
  })

  test('text below numbers in a column that nobody needs', async () => {
    const rows = flight(200).map((row, k) => row.replace('note', k < 150 ? String(k) : 'landed'))
    const log = await read(write('aside.csv', `${HEADER}\n${rows.join('\n')}\n`))
    expect(log.columns[3]?.type).toBe('text')
    expect(texts(log).join()).toContain(
      'Column 4 (note) was set aside as text: in line 152 "landed" is not a number.',
    )
    expect((await problemOf2(readColumnValues(columnFile, log.layout, 3))).code).toBe('not-found')
  })

  test('the header once more after a power cycle', async () => {
    const rows = flight(100).join('\n')
    const log = await read(write('twice.csv', `${HEADER}\n${rows}\n${HEADER}\n${rows}\n`))
    expect(log.rows).toBe(200)
    expect(log.restarts).toEqual([100])
  })

  test('a byte order mark, semicolons, decimal commas, a preamble', async () => {
    const rows = flight(100).map((row) => row.replaceAll(',', ';').replaceAll('.', ','))
    const text = `\uFEFFcraft: Red five\n${HEADER.replaceAll(',', ';')}\n${rows.join('\r\n')}\r\n`
    const log = await read(write('comma.csv', text))
    expect(log.preamble).toEqual([{ name: 'craft', value: 'Red five' }])
    expect(log.dialect).toMatchObject({ separator: ';', decimal: ',', headerLine: 2 })
    expect(log.columns[0]?.name).toBe('time_us')
    expect((await readColumnValues(columnFile, log.layout, 1))[1]).toBe(Math.fround(9.996))
  })

  test('nanosecond stamps near 1.7e18 lose nothing', async () => {
    const origin = 1_700_000_000_123_456_789n
    const rows = Array.from({ length: 100 }, (_, k) => `${origin + BigInt(k) * 500_001n},${k}`)
    const log = await read(write('ns.csv', `timestamp,gyro x\n${rows.join('\n')}\n`))
    expect(log.layout.columns[0]).toEqual({ index: 0, type: 'f64', origin: String(origin) })
    expect(log.assignments[0]).toMatchObject({ role: 'time', unit: 'ns' })
    const stamps = await readColumnValues(columnFile, log.layout, 0)
    expect(Array.from(stamps)).toEqual(rows.map((_, k) => k * 500_001))
    expect(log.clock.nominalRate_hz).toBeCloseTo(1e9 / 500_001, 9)
  })
})

async function problemOf2(promise: Promise<unknown>): Promise<Problem> {
  return promise.then(
    () => {
      throw new Error('no problem')
    },
    (thrown: unknown) => thrown as Problem,
  )
}

describe('stopping', () => {
  // Tried up to three times: on a machine that is busy with other things, threads wait for their turn.
  test(
    'a cancelled reading ends within 200 ms and leaves nothing',
    { timeout: 60_000, retry: 2 },
    async () => {
      const path = write('long.csv', `${HEADER}\n${flight(1_000_000).join('\n')}\n`)
      const control = new AbortController()
      let cancelled_ms = 0
      const seen: number[] = []
      const reading = read(path, {
        signal: control.signal,
        onProgress: ({ done }) => {
          seen.push(done)
          if (done > 0.2 && cancelled_ms === 0) {
            cancelled_ms = performance.now()
            control.abort()
          }
        },
      })
      const problem = await problemOf(reading)
      expect(problem.code).toBe('cancelled')
      expect(performance.now() - cancelled_ms).toBeLessThan(200)
      expect(seen.every((done) => done >= 0 && done <= 1)).toBe(true)
      expect((await problemOf(read(path, { signal: AbortSignal.abort() }))).code).toBe('cancelled')
      // The next reading is none the worse for it, nor are several at once.
      const small = write('small.csv', `${HEADER}\n${flight(200).join('\n')}\n`)
      const both = await Promise.all([
        read(small, { columnFile: join(store, 'one') }),
        read(small, { columnFile: join(store, 'two') }),
        inspectLog(small),
      ])
      expect(both.map((log) => log.columns.length)).toEqual([4, 4, 4])
      expect(readdirSync(store).sort()).toEqual(['one', 'two'])
    },
  )

  const text = `${HEADER}\n${flight(1_000_000).join('\n')}\n`
  const t_us = Float64Array.from({ length: 2_000_000 }, (_, k) => k * 500)
  const table = {
    time_us: t_us,
    gyro_roll: t_us.map((_, k) => 200 * Math.sin(k / 20)),
    gyro_pitch: t_us.map((_, k) => 90 * Math.cos(k / 30)),
  }
  test.each<[string, () => Uint8Array, 'read' | 'hash']>([
    ['packed.csv.gz', () => gzipSync(text, { level: 1 }), 'read'],
    ['packed.csv.zst', () => zstdCompressSync(text), 'read'],
    ['table.arrow', () => tableToIPC(tableFromArrays(table), 'file'), 'read'],
    ['table.parquet', () => readFileSync(LONG_PARQUET), 'read'],
    ['hashed.csv', () => Buffer.from(text.repeat(4)), 'hash'],
  ])(
    '%s: progress, and an end within 200 ms of the wish',
    { timeout: 60_000, retry: 2 },
    async (name, bytes, what) => {
      const path = write(name, bytes())
      const control = new AbortController()
      const seen: number[] = []
      let cancelled_ms = 0
      const onProgress = ({ phase, done }: { phase: string; done: number }): void => {
        seen.push(done)
        if (phase === 'Looking' || cancelled_ms > 0) return
        cancelled_ms = performance.now()
        control.abort()
      }
      const options = { signal: control.signal, onProgress }
      const problem = await problemOf(what === 'read' ? read(path, options) : contentHash(path, options))
      expect(problem.code).toBe('cancelled')
      expect(cancelled_ms).toBeGreaterThan(0)
      expect(performance.now() - cancelled_ms).toBeLessThan(200)
      expect(seen.every((done) => done >= 0 && done <= 1)).toBe(true)
    },
  )
})
