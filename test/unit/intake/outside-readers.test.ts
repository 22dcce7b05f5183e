import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import { readColumnValues, readLog } from '../../../electron/intake/intake.ts'

/**
 * Tables written by Python's csv in several dialects, and what other readers make of them: numpy 1.24.2 and DuckDB
 * 1.5.6. The scripts are test/reference/intake/generated_tables.py and generated_duckdb.mjs.
 */
interface Known {
  readonly names: readonly string[]
  /** Column after column. */
  readonly doubles: readonly (readonly number[])[]
  readonly singles: readonly (readonly number[])[]
}
const TABLES = join(import.meta.dirname, '../../fixtures/intake/generated')
const knownBy = (reader: string): [string, Known][] =>
  Object.entries(JSON.parse(readFileSync(join(TABLES, `${reader}.json`), 'utf8')) as Record<string, Known>)

const folder = mkdtempSync(join(tmpdir(), 'twopack-outside-'))
const columnFile = join(folder, 'columns')
afterAll(() => rmSync(folder, { recursive: true }))

describe.each(['numpy', 'duckdb'])('made tables read to the last bit as %s reads them', (reader) => {
  test.each(knownBy(reader))('%s', async (name, { names, doubles, singles }) => {
    const log = await readLog(join(TABLES, `${name}.csv`), { columnFile })
    expect(log.columns.map((column) => column.name)).toEqual(names)
    expect(log.layout.columns).toHaveLength(names.length)
    for (const { index, type } of log.layout.columns) {
      const expected = (type === 'f64' ? doubles : singles)[index]
      expect(Array.from(await readColumnValues(columnFile, log.layout, index))).toEqual(expected)
    }
  })
})
