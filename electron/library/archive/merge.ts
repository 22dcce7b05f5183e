import type Database from 'better-sqlite3'
import { quoted } from './write-archive.ts'
import type { StagedArchive } from './read-archive.ts'
import { columnNames, TABLES, type ArchiveTable, type Row, type Value } from './tables.ts'

/** What a merge added, so that it can be told and taken back. */
export interface Merged {
  /** Rows added, by table. */
  readonly added: Readonly<Record<string, number>>
  /** Rows that were there already and stay as they are, by table. */
  readonly known: Readonly<Record<string, number>>
  /** Numbers of the flights that were added. */
  readonly flights: readonly number[]
  /** For taking it back: the keys of the rows added, in the order of the tables. */
  readonly keys: ReadonlyMap<string, readonly Row[]>
}

/**
 * Adds to the library what it lacks; what it has already stays as it is, words and all. To be run in a transaction.
 * @throws Error when a row names one that is not there: the archive was not checked
 */
export function mergeArchive(database: Database.Database, archive: StagedArchive): Merged {
  const numbers = new Map<string, Map<Value, Value>>()
  const added: Record<string, number> = {}
  const known: Record<string, number> = {}
  const keys = new Map<string, Row[]>()
  const flights: number[] = []
  for (const table of TABLES) {
    const merge = mergerOf(database, table, numbers)
    const own: Row[] = []
    keys.set(table.name, own)
    let there = 0
    for (const row of archive.rows(table)) {
      const { key, number } = merge(row)
      if (key === null) there++
      else own.push(key)
      if (key !== null && table.name === 'flight') flights.push(number as number)
    }
    added[table.name] = own.length
    known[table.name] = there
  }
  return { added, known, flights, keys }
}

/** Takes back what a merge added, the last table first. To be run in a transaction. */
export function takeBack(database: Database.Database, { keys }: Pick<Merged, 'keys'>): void {
  for (const table of [...TABLES].reverse()) {
    const names = table.number === undefined ? table.same : [table.number]
    const remove = database.prepare(`DELETE FROM ${quoted(table.name)} WHERE ${conditions(names)}`)
    for (const key of keys.get(table.name) ?? []) remove.run(...key)
  }
}

const conditions = (names: readonly string[]): string =>
  names.map((name) => `${quoted(name)} IS ?`).join(' AND ')

/** Adds a row unless it is there; says by what it is known (null when it was there) and its number. */
function mergerOf(
  database: Database.Database,
  table: ArchiveTable,
  numbers: Map<string, Map<Value, Value>>,
): (row: Row) => { readonly key: Row | null; readonly number: Value } {
  const { number, references = {}, same } = table
  const names = columnNames(table)
  const given = names.filter((name) => name !== number)
  const own = new Map<Value, Value>()
  if (number !== undefined) numbers.set(table.name, own)
  const find = database
    .prepare<Value[], Value>(
      `SELECT ${quoted(number ?? (same[0] as string))} FROM ${quoted(table.name)} WHERE ${conditions(same)}`,
    )
    .pluck()
  const insert = database.prepare(
    `INSERT INTO ${quoted(table.name)} (${given.map(quoted).join(', ')}) VALUES (${given.map(() => '?').join(', ')})`,
  )
  return (row) => {
    const values = new Map<string, Value>()
    names.forEach((name, index) => {
      const other = references[name]
      const value = row[index] as Value
      const mapped = other === undefined ? value : numbers.get(other)?.get(value)
      if (mapped === undefined)
        throw new Error(`${table.name}.${name} names a row that is not there: ${value}`)
      values.set(name, mapped)
    })
    const key = same.map((name) => values.get(name) as Value)
    const there = find.get(...key)
    if (there !== undefined) {
      if (number !== undefined) own.set(values.get(number) as Value, there)
      return { key: null, number: there }
    }
    const { lastInsertRowid } = insert.run(...given.map((name) => values.get(name) as Value))
    if (number === undefined) return { key, number: null }
    const inserted = Number(lastInsertRowid)
    own.set(values.get(number) as Value, inserted)
    return { key: [inserted], number: inserted }
  }
}
