import type Database from 'better-sqlite3'
import * as v from 'valibot'
import type { Assignment } from '../../workers/columns/roles.ts'
import { assignmentSchema } from '../desk/contract/schemas.ts'

const assignmentsSchema = v.array(assignmentSchema)

/** What is kept between runs beside the flights: meanings by header, and the window's small state. */
export class Memory {
  readonly #database: Database.Database

  constructor(database: Database.Database) {
    this.#database = database
  }

  remember(headerKey: string, assignments: readonly Assignment[], now_ms: number): void {
    this.#database
      .prepare(
        `INSERT INTO header_memory (header_key, assignments, set_at_ms) VALUES (?, ?, ?)
         ON CONFLICT(header_key) DO UPDATE SET assignments = excluded.assignments, set_at_ms = excluded.set_at_ms`,
      )
      .run(headerKey, JSON.stringify(assignments), now_ms)
  }

  /** What the pilot chose before for a file with this header, marked as remembered; null when nothing. */
  remembered(headerKey: string): Assignment[] | null {
    const row = this.#database
      .prepare<[string], { assignments: string }>(
        'SELECT assignments FROM header_memory WHERE header_key = ?',
      )
      .get(headerKey)
    if (!row) return null
    return v.parse(assignmentsSchema, JSON.parse(row.assignments)).map((assignment) => ({
      ...assignment,
      sure: 'certain',
      setBy: 'memory',
      how: 'You chose this before for a file with the same header.',
    }))
  }

  kept(key: string): string | null {
    const row = this.#database
      .prepare<[string], { value: string }>('SELECT value FROM kept WHERE key = ?')
      .get(key)
    return row?.value ?? null
  }

  keep(key: string, value: string): void {
    this.#database
      .prepare(
        'INSERT INTO kept (key, value) VALUES (?, ?) ON CONFLICT(key) DO UPDATE SET value = excluded.value',
      )
      .run(key, value)
  }
}
