import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, relative } from 'node:path'
import { gzipSync, zstdCompressSync } from 'node:zlib'
import { afterAll, describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { findLogs } from '../../../electron/intake/find-logs.ts'
import { inspectLog, readColumnValues, readLog } from '../../../electron/intake/intake.ts'
import { encodingOf, toUtf8 } from '../../../electron/intake/to-utf8.ts'
import { Problem } from '../../../workers/log/problems.ts'

const folder = mkdtempSync(join(tmpdir(), 'twopack-formats-'))
const columnFile = join(folder, 'columns')
afterAll(() => rmSync(folder, { recursive: true }))

const ROWS = 3000
const TEXT = `craft: Grüne Wespe\nZeit [ms];Drehrate Rollen [°/s];Schub [%]\n${Array.from(
  { length: ROWS },
  (_, k) => `${k};${(200 * Math.sin(k / 30)).toFixed(3)};${50 + (k % 7)}\n`.replaceAll('.', ','),
).join('')}`

function utf16(text: string, big: boolean, mark: boolean): Uint8Array {
  const bytes = Buffer.from((mark ? '\uFEFF' : '') + text, 'utf16le')
  return big ? bytes.swap16() : bytes
}

test('a look that was taken serves the reading, but not when the file has changed since', async () => {
  const path = join(folder, 'looked.csv')
  writeFileSync(path, TEXT)
  const looked = await inspectLog(path)
  const log = await readLog(path, { columnFile })
  expect(log).toMatchObject({ headerKey: looked.headerKey, dialect: looked.dialect, rows: ROWS })
  // Read once more, nothing is known of it.
  expect(await readLog(path, { columnFile })).toEqual(log)
  await inspectLog(path)
  writeFileSync(path, TEXT.replace('Schub', 'Gas').replaceAll(';', '\t'))
  const changed = await readLog(path, { columnFile })
  expect(changed.columns.map(({ name }) => name)).toContain('Gas [%]')
  expect(changed.dialect.separator).toBe('\t')
  expect(changed.contentHash).not.toBe(log.contentHash)
})

describe('the same log in every wrapping', () => {
  const plain = new TextEncoder().encode(TEXT)
  test.each<[string, Uint8Array, string]>([
    ['UTF-8', plain, 'none'],
    ['UTF-8 with a mark', new TextEncoder().encode(`\uFEFF${TEXT}`), 'none'],
    ['Windows text', Buffer.from(TEXT, 'latin1'), 'none'],
    ['UTF-16 little-endian', utf16(TEXT, false, true), 'none'],
    ['UTF-16 big-endian', utf16(TEXT, true, true), 'none'],
    ['gzip', gzipSync(plain), 'gzip'],
    ['gzip of UTF-16', gzipSync(utf16(TEXT, false, true)), 'gzip'],
    [
      'two gzip members',
      Buffer.concat([gzipSync(plain.subarray(0, 5000)), gzipSync(plain.subarray(5000))]),
      'gzip',
    ],
    ['zstd', zstdCompressSync(plain), 'zstd'],
  ])('%s', async (_, bytes, compression) => {
    const path = join(folder, 'log.csv')
    writeFileSync(path, bytes)
    const log = await readLog(path, { columnFile })
    expect(log.rows).toBe(ROWS)
    expect(log.dialect.compression).toBe(compression)
    expect(log.preamble).toEqual([{ name: 'craft', value: 'Grüne Wespe' }])
    expect(log.assignments.map((one) => `${one.role} ${one.unit}`)).toEqual([
      'time ms',
      'gyro.roll dps',
      'throttle percent',
    ])
    const values = await readColumnValues(columnFile, log.layout, 1)
    expect(Array.from(values.subarray(0, 3))).toEqual([0, 6.665, 13.323].map(Math.fround))
  })

  test('zstd that is cut off gives a prefix and a notice', async () => {
    // Numbers without a pattern, so that the archive has many blocks.
    let state = 1
    const rows = Array.from({ length: 100_000 }, (_, k) => {
      state = (state * 48271) % 2147483647
      return `${k};${state % 100_000}\n`
    })
    const packed = zstdCompressSync(new TextEncoder().encode(`time_ms;gyro x\n${rows.join('')}`))
    const path = join(folder, 'cut.csv.zst')
    writeFileSync(path, packed.subarray(0, packed.length >> 1))
    const log = await readLog(path, { columnFile })
    expect(log.rows).toBeGreaterThan(1000)
    expect(log.rows).toBeLessThan(100_000)
    expect(log.notices.map((notice) => notice.text)).toContain(
      'The archive ends too early; what there is was read.',
    )
  })
})

describe('16-bit text', () => {
  test('any text comes through, however it is sliced', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.string({ unit: 'grapheme', minLength: 1 }),
        fc.integer({ min: 2, max: 9 }),
        fc.boolean(),
        async (text, slice, big) => {
          const bytes = utf16(text, big, true)
          const pieces: Uint8Array[] = []
          async function* slices(): AsyncGenerator<Uint8Array> {
            for (let from = 0; from < bytes.length; from += slice) yield bytes.subarray(from, from + slice)
          }
          for await (const piece of toUtf8(slices())) pieces.push(piece)
          expect(Buffer.concat(pieces).toString('utf8')).toBe(Buffer.from(text, 'utf8').toString('utf8'))
        },
      ),
    )
  })

  test('is told from other text without a mark', () => {
    expect(encodingOf(utf16('time,gyro', false, false))).toBe('utf-16le')
    expect(encodingOf(utf16('time,gyro', true, false))).toBe('utf-16be')
    expect(encodingOf(Buffer.from('time,gyro'))).toBe('utf-8')
    expect(encodingOf(new Uint8Array(100))).toBe('utf-8')
  })
})

async function collect<T>(items: AsyncIterable<T>): Promise<T[]> {
  const all: T[] = []
  for await (const item of items) all.push(item)
  return all
}

describe('a folder of logs', () => {
  const card = join(folder, 'card')
  mkdirSync(join(card, 'Red five', '2024'), { recursive: true })
  mkdirSync(join(card, '.trash'))
  for (const name of [
    'b.csv',
    'a.TXT',
    'photo.jpg',
    'Red five/2024/c.csv.gz',
    'Red five/d.tsv',
    'Red five/e.parquet',
    'Red five/e.parquet.gz',
    'Red five/f.arrows',
    '.trash/e.csv',
    '.f.csv',
  ]) {
    writeFileSync(join(card, name), 'x')
  }
  symlinkSync(card, join(card, 'loop'))

  test('is walked on all levels, hidden things and links to folders left out', async () => {
    const found = await collect(findLogs(card))
    expect(found.map(({ path }) => relative(card, path))).toEqual([
      'Red five/2024/c.csv.gz',
      'Red five/d.tsv',
      'Red five/e.parquet',
      'Red five/f.arrows',
      'a.TXT',
      'b.csv',
    ])
    expect(found[0]).toMatchObject({ bytes: 1, changed_ms: expect.any(Number) })
  })

  test('that is none, or that is left', async () => {
    await expect(collect(findLogs(join(card, 'b.csv')))).rejects.toThrow(Problem)
    await expect(collect(findLogs(join(card, 'nowhere')))).rejects.toMatchObject({
      code: 'cannot-read',
    })
    const signal = AbortSignal.abort()
    await expect(collect(findLogs(card, { signal }))).rejects.toMatchObject({ code: 'cancelled' })
  })
})
