import { existsSync, mkdtempSync, readdirSync, rmSync, truncateSync } from 'node:fs'
import { open, type FileHandle } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import fc from 'fast-check'
import {
  ColumnReader,
  groupRowsFor,
  readColumn,
  readColumnValues,
  readFirsts,
  readLevel,
  type ColumnFileLayout,
  type StoredColumn,
} from '../../../electron/intake/column-file.ts'
import { ColumnFileWriter, publishColumnFile } from '../../../electron/intake/column-writer.ts'
import { buildPyramid } from '../../../workers/reduce/pyramid.ts'
import { RowParser } from '../../../workers/text/row-parser.ts'

const folder = mkdtempSync(join(tmpdir(), 'twopack-columns-'))
afterAll(() => rmSync(folder, { recursive: true }))
const temporary = join(folder, 'new.part')
const path = join(folder, 'columns')

const COLUMNS: StoredColumn[] = [
  { index: 0, type: 'f64' },
  { index: 2, type: 'f32' },
  { index: 3, type: 'f32', setAside: true },
  { index: 4, type: 'f32' },
]

/** Writes rows through parser and writer, as the intake does. */
async function store(rows: readonly (readonly string[])[], groupRows: number): Promise<ColumnFileLayout> {
  const writer = await ColumnFileWriter.create(temporary, COLUMNS, groupRows)
  const parser = new RowParser({
    separator: ',',
    decimal: '.',
    newline: '\n',
    firstLine: 1,
    trailingSeparator: false,
    names: ['a', 'b', 'c', 'd', 'e'],
    targets: ['f64', 'skip', 'f32', 'f32', 'f32'],
    required: [false, false, false, false, false],
    headLines: [],
    file: 'x.csv',
    groupRows,
    onGroup: (group) => writer.write(group),
  })
  await parser.push(new TextEncoder().encode(rows.map((row) => `${row.join(',')}\n`).join('')))
  await parser.end(false)
  await writer.finish()
  await publishColumnFile(temporary, path)
  return {
    format: 1,
    rows: rows.length,
    groupRows,
    columns: COLUMNS,
    level: {
      block: 64,
      at: rows.length * 20,
      firstsAt: rows.length * 20 + 8 * 3 * Math.ceil(rows.length / 64),
    },
  }
}

const number = fc.oneof(fc.float({ noNaN: true, noDefaultInfinity: true }), fc.constant(NaN))

describe('a column file', () => {
  test('gives back what was written, whatever the groups, and the extremes of each block', async () => {
    const rows = fc.array(fc.tuple(number, number, number), { minLength: 1, maxLength: 400 })
    await fc.assert(
      fc.asyncProperty(rows, fc.constantFrom(64, 192, 448), async (values, groupRows) => {
        const cell = (value: number): string => (Number.isNaN(value) ? '' : String(value))
        const layout = await store(
          values.map(([a, b, c]) => [cell(a), 'text', cell(b), '1', cell(c)]),
          groupRows,
        )
        for (const [index, place] of [
          [0, 0],
          [2, 1],
          [4, 2],
        ] as const) {
          const read = await readColumnValues(path, layout, index)
          expect(Array.from(read, (value) => value + 0)).toEqual(values.map((row) => row[place] + 0))
        }
        const reader = await ColumnReader.open(path, layout)
        const inGroups = new Float64Array(values.length)
        reader.wideValuesNow(0, (some, row) => inGroups.set(some, row))
        const now = reader.valuesNow(2, new ArrayBuffer(8 + 4 * values.length), 8)
        await reader.close()
        expect(inGroups).toEqual(await readColumnValues(path, layout, 0))
        expect(now).toEqual(await readColumnValues(path, layout, 2))
        // The window's own pyramid, level by level, is the outside check of the kernel's.
        const last = Float32Array.from(values, (row) => row[2])
        const [level] = buildPyramid(last, 64).levels
        const stored = await readLevel(path, layout, 4)
        expect(Array.from(stored?.min ?? [], (value) => value + 0)).toEqual(
          Array.from(level?.min ?? [], (value) => value + 0),
        )
        expect(Array.from(stored?.max ?? [], (value) => value + 0)).toEqual(
          Array.from(level?.max ?? [], (value) => value + 0),
        )
        const firsts = await readFirsts(path, layout, 0)
        expect(Array.from(firsts ?? [], (value) => value + 0)).toEqual(
          values.filter((_, row) => row % 64 === 0).map(([first]) => first + 0),
        )
      }),
      { numRuns: 40 },
    )
  })

  test('refuses columns that are not stored, and a file that is gone or cut short', async () => {
    const layout = await store([['1', 'x', '2', '3', '4']], 64)
    await expect(readColumn(path, layout, 1)).rejects.toMatchObject({ code: 'not-found' })
    await expect(readColumn(path, layout, 3)).rejects.toMatchObject({ code: 'not-found' })
    expect(await readLevel(path, layout, 0)).toBeNull()
    expect(await readFirsts(path, layout, 4)).toBeNull()
    // As stored before first values were.
    expect(await readFirsts(path, { ...layout, level: { block: 64, at: 20 } }, 0)).toBeNull()
    truncateSync(path, 10)
    await expect(readColumn(path, layout, 4)).rejects.toMatchObject({ code: 'source-missing' })
    rmSync(path)
    await expect(readColumn(path, layout, 4)).rejects.toMatchObject({ code: 'source-missing' })
  })

  test('discarded, it leaves nothing', async () => {
    const writer = await ColumnFileWriter.create(temporary, COLUMNS, 64)
    await writer.discard()
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([])
    await expect(ColumnFileWriter.create(join(folder, 'none', 'x'), COLUMNS, 64)).rejects.toMatchObject({
      code: 'disk',
    })
  })

  test.skipIf(!existsSync('/dev/full'))('a full disk is a sentence', async () => {
    // /dev/full takes a file's opening and refuses its bytes with "no space left on device".
    const writer = await ColumnFileWriter.create(temporary, COLUMNS, 64)
    const inside = writer as unknown as { handle: FileHandle }
    await inside.handle.close()
    inside.handle = await open('/dev/full', 'w')
    const group = {
      rows: 1,
      f64: new Float64Array(64),
      f32: new Float32Array(192),
      levelMin: new Float32Array(3),
      levelMax: new Float32Array(3),
    }
    await writer.write(group)
    await expect(writer.finish()).rejects.toMatchObject({
      code: 'disk',
      message: expect.stringContaining('disk is full'),
    })
    await writer.discard()
  })

  test('groups hold whole blocks and fit the memory', () => {
    for (const rowBytes of [8, 12, 164, 4000, 400_000]) {
      const rows = groupRowsFor(rowBytes)
      expect(rows % 64).toBe(0)
      expect((rows / 64) % 2).toBe(1)
      expect(rows === 64 || rows * rowBytes <= 3 << 20).toBe(true)
    }
  })
})
