import type Database from 'better-sqlite3'
import { quoted } from './write-archive.ts'
import type { StagedArchive } from './read-archive.ts'
import { columnNames, FILE, TABLES, type ArchiveTable, type Row, type Value } from './tables.ts'

/** Something that an archive added, by which it can be taken out again. */
export interface AddedKey {
  /** A table's name; or 'columns': the samples of a log, by its hash. */
  readonly what: string
  /** What its row is known by: its number, or the table's `same` columns. */
  readonly key: Row
}

/** What a merge added, so that it can be told and taken back. */
export interface Merged {
  /** Rows added, by table. */
  readonly added: Readonly<Record<string, number>>
  /** Rows that were there already and stay as they are, by table. */
  readonly known: Readonly<Record<string, number>>
  /** In the order in which they were added. What goes with a row that is taken out is not named by itself. */
  readonly keys: readonly AddedKey[]
}

/** Where what an archive adds goes. */
export interface Receiver {
  readonly database: Database.Database
  /** Brings a flight's line in the list up to what the tables say. */
  relist(flightId: number): void
  /** True while a log's samples are there. */
  hasSamples(contentHash: string): boolean
  /** Keeps in mind what was added. */
  added(key: AddedKey): void
}

/**
 * Adds to the library what it lacks; what it has already stays as it is, words and all. Each step adds one row with all
 * that belongs to it (a flight with its log and meanings), and is to be run in a transaction: between steps the library
 * is whole.
 */
export class Merge {
  readonly added: Record<string, number> = {}
  readonly known: Record<string, number> = {}
  readonly #archive: StagedArchive
  readonly #receiver: Receiver
  readonly #adders = new Map<string, (row: Row) => Added>()

  constructor(archive: StagedArchive, receiver: Receiver) {
    this.#archive = archive
    this.#receiver = receiver
    const numbers = new Map<string, Map<Value, Value>>()
    for (const table of TABLES) {
      this.added[table.name] = 0
      this.known[table.name] = 0
      this.#adders.set(table.name, adderOf(receiver.database, table, numbers))
    }
  }

  /** @throws Error when a row names one that is not there: the archive was not checked */
  *steps(): Generator<void> {
    const files = new Map<Value, boolean>()
    for (const table of TABLES) {
      if (table === FILE || table.references) continue
      const child = TABLES.find(({ references = {} }) => Object.values(references).includes(table.name))
      const children = child && new Lookahead(this.#archive.rows(child))
      for (const row of this.#archive.rows(table)) {
        let hasNewFile = false
        if (table.name === 'flight') {
          const hash = row[columnNames(table).indexOf('content_hash')] as string
          hasNewFile = files.get(hash) ?? this.#addFile(hash)
          files.set(hash, hasNewFile)
        }
        const { isNew, number } = this.#add(table, row, hasNewFile)
        // A child's first column names its parent, and children stand in the order of their parents: see `checked`.
        if (child && children) while (children.next?.[0] === row[0]) this.#add(child, children.take(), isNew)
        if (table.name === 'flight' && isNew) this.#receiver.relist(number as number)
        yield
      }
    }
  }

  /** Returns whether the log is new here. Samples that are lacking come with it. */
  #addFile(hash: string): boolean {
    const { isNew } = this.#add(FILE, this.#archive.file(hash), false)
    if (this.#archive.columns.has(hash) && !this.#receiver.hasSamples(hash))
      this.#receiver.added({ what: 'columns', key: [hash] })
    return isNew
  }

  /** @param goesWith true when taking out what it belongs to takes it out as well */
  #add(table: ArchiveTable, row: Row, goesWith: boolean): Added {
    const done = this.#adders.get(table.name)?.(row)
    if (!done) throw new Error(`there is no table ${table.name}`)
    const counts = done.isNew ? this.added : this.known
    counts[table.name] = (counts[table.name] ?? 0) + 1
    if (done.isNew && !goesWith) this.#receiver.added({ what: table.name, key: done.key })
    return done
  }
}

/** Takes out again what a merge added, the last first; a step each, to be run in a transaction. Samples are left. */
export function* takeOut(database: Database.Database, keys: readonly AddedKey[]): Generator<void> {
  const removers = new Map(
    TABLES.map((table) => {
      const names = table.number === undefined ? table.same : [table.number]
      const sql = `DELETE FROM ${quoted(table.name)} WHERE ${conditions(names)}`
      return [table.name, database.prepare(sql)] as const
    }),
  )
  for (const { what, key } of keys.toReversed()) {
    removers.get(what)?.run(...key)
    yield
  }
}

interface Added {
  readonly isNew: boolean
  readonly key: Row
  /** The row's number here, whether it is new or not; null where its table has none. */
  readonly number: Value
}

/** Rows one by one, with a look at the next. */
class Lookahead {
  readonly #rows: Iterator<Row>
  next: Row | undefined

  constructor(rows: Iterable<Row>) {
    this.#rows = rows[Symbol.iterator]()
    this.#advance()
  }

  take(): Row {
    const row = this.next
    if (!row) throw new Error('there is no next row')
    this.#advance()
    return row
  }

  #advance(): void {
    const { done, value } = this.#rows.next()
    this.next = done ? undefined : value
  }
}

const conditions = (names: readonly string[]): string =>
  names.map((name) => `${quoted(name)} IS ?`).join(' AND ')

/** Adds a row unless it is there; says by what it is known and its number. */
function adderOf(
  database: Database.Database,
  table: ArchiveTable,
  numbers: Map<string, Map<Value, Value>>,
): (row: Row) => Added {
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
      return { isNew: false, key, number: number === undefined ? null : there }
    }
    const { lastInsertRowid } = insert.run(...given.map((name) => values.get(name) as Value))
    if (number === undefined) return { isNew: true, key, number: null }
    const inserted = Number(lastInsertRowid)
    own.set(values.get(number) as Value, inserted)
    return { isNew: true, key: [inserted], number: inserted }
  }
}
