import type Database from 'better-sqlite3'
import * as v from 'valibot'

const valueSchema = v.nullable(v.union([v.string(), v.number()]))
const rowSchema = v.record(v.string(), valueSchema)
const rowsSchema = v.array(rowSchema)
type Row = v.InferOutput<typeof rowSchema>

interface Stored {
  readonly id: number
  readonly content_hash: string
  readonly flight: string
  readonly assignments: string
}

/** Flights taken out of the logbook, row by row as they stood, so that they can be brought back under their ids. */
export class RemovedFlights {
  readonly #database: Database.Database

  constructor(database: Database.Database) {
    this.#database = database
  }

  /** Sets a flight's rows aside and deletes them; with the last flight of a log its file row as well. True for the last. */
  remove(id: number, contentHash: string): boolean {
    const flight = this.#rows('SELECT * FROM flight WHERE id = ?', id)[0]
    const assignments = this.#rows('SELECT * FROM assignment WHERE flight_id = ?', id)
    this.#database.prepare('DELETE FROM flight WHERE id = ?').run(id)
    const others = this.#database.prepare('SELECT 1 FROM flight WHERE content_hash = ?').get(contentHash)
    const isLast = others === undefined
    const file = isLast ? this.#rows('SELECT * FROM file WHERE content_hash = ?', contentHash)[0] : null
    this.#database
      .prepare('INSERT OR REPLACE INTO removed_flight VALUES (?, ?, ?, ?, ?)')
      .run(
        id,
        contentHash,
        JSON.stringify(flight),
        JSON.stringify(assignments),
        file ? JSON.stringify(file) : null,
      )
    if (isLast) this.#database.prepare('DELETE FROM file WHERE content_hash = ?').run(contentHash)
    return isLast
  }

  /** The log that a set aside flight is of; null when it is not here any more. */
  contentOf(id: number): string | null {
    return this.#stored(id)?.content_hash ?? null
  }

  /** Puts a flight's rows back where they were. @throws Error when it is not here */
  restore(id: number): void {
    const stored = this.#stored(id)
    if (!stored) throw new Error(`flight ${id} was not set aside`)
    if (!this.#database.prepare('SELECT 1 FROM file WHERE content_hash = ?').get(stored.content_hash)) {
      const file = this.#database
        .prepare<[string], string>(
          'SELECT file FROM removed_flight WHERE content_hash = ? AND file IS NOT NULL',
        )
        .pluck()
        .get(stored.content_hash)
      if (file === undefined) throw new Error(`the log of flight ${id} was not set aside`)
      this.#insert('file', v.parse(rowSchema, JSON.parse(file)))
    }
    this.#insert('flight', v.parse(rowSchema, JSON.parse(stored.flight)))
    for (const row of v.parse(rowsSchema, JSON.parse(stored.assignments))) this.#insert('assignment', row)
    // The file's row goes with the flight that is removed last; it may be needed for the others.
    this.#database
      .prepare(
        `UPDATE removed_flight SET file = COALESCE(file, (SELECT file FROM removed_flight WHERE id = :id))
         WHERE content_hash = (SELECT content_hash FROM removed_flight WHERE id = :id)`,
      )
      .run({ id })
    this.#database.prepare('DELETE FROM removed_flight WHERE id = ?').run(id)
  }

  /** Forgets the set aside flights of a log, or all. Returns the logs they were of. */
  forget(contentHash: string | null = null): string[] {
    return this.#database
      .prepare<{ hash: string | null }, string>(
        'DELETE FROM removed_flight WHERE content_hash = :hash OR :hash IS NULL RETURNING content_hash',
      )
      .pluck()
      .all({ hash: contentHash })
  }

  #stored(id: number): Stored | undefined {
    return this.#database.prepare<[number], Stored>('SELECT * FROM removed_flight WHERE id = ?').get(id)
  }

  #rows(sql: string, key: string | number): Row[] {
    return this.#database.prepare<[string | number], Row>(sql).all(key)
  }

  #insert(table: 'file' | 'flight' | 'assignment', row: Row): void {
    const columns = Object.keys(row)
    this.#database
      .prepare(
        `INSERT INTO ${table} (${columns.map((name) => `"${name}"`).join(', ')})
         VALUES (${columns.map(() => '?').join(', ')})`,
      )
      .run(...Object.values(row))
  }
}
