import { mkdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import type Database from 'better-sqlite3'
import * as v from 'valibot'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { ReadLog } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { assignmentSchema, type FlightDetail, type FlightSummary } from '../desk/contract/schemas.ts'
import { openDatabase } from './database.ts'
import { detailOf, summaryOf, type FlightRow } from './rows.ts'
import { parseStoredLog } from './stored-log.ts'

/** What is known of a flight beside its log when it is indexed. */
export interface FlightFacts {
  readonly name: string
  readonly craft: string
  readonly note: string
  readonly flownAt_ms: number | null
  readonly demo: boolean
  readonly sourcePath: string | null
  readonly settings: { readonly name: string; readonly text: string } | null
}

const assignmentsSchema = v.array(assignmentSchema)

/**
 * The indexed flights: SQLite for everything but samples, which lie in one column file per log beside it.
 * One writer; every method is synchronous and short.
 */
export class Library {
  readonly #database: Database.Database
  readonly #columns: string

  constructor(home: string) {
    this.#columns = join(home, 'columns')
    mkdirSync(this.#columns, { recursive: true })
    this.#database = openDatabase(join(home, 'library.sqlite'))
  }

  /** Where the column file of a log with this content lies or is to be written. */
  columnFile(contentHash: string): string {
    return join(this.#columns, `${contentHash}.columns`)
  }

  /** The flight made from a file with this content, or null. */
  findByContent(contentHash: string): number | null {
    const row = this.#database
      .prepare<[string], { id: number }>('SELECT id FROM flight WHERE content_hash = ? ORDER BY id LIMIT 1')
      .get(contentHash)
    return row?.id ?? null
  }

  /** Adds a read log as a flight, all or nothing. The column file must stand already. Returns its id. */
  add(log: ReadLog, facts: FlightFacts, now_ms: number): number {
    const add = this.#database.transaction(() => {
      this.#database
        .prepare(
          `INSERT INTO file (content_hash, file_name, bytes, source_path, header_key, log, indexed_at_ms)
           VALUES (?, ?, ?, ?, ?, ?, ?)`,
        )
        .run(
          log.contentHash,
          log.fileName,
          log.bytes,
          facts.sourcePath,
          log.headerKey,
          JSON.stringify(log),
          now_ms,
        )
      const { lastInsertRowid } = this.#database
        .prepare(
          `INSERT INTO flight (content_hash, name, craft, note, flown_at_ms, demo, settings_name, settings_text)
           VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
        )
        .run(
          log.contentHash,
          facts.name,
          facts.craft,
          facts.note,
          facts.flownAt_ms,
          facts.demo ? 1 : 0,
          facts.settings?.name ?? null,
          facts.settings?.text ?? null,
        )
      const id = Number(lastInsertRowid)
      this.#writeAssignments(id, log.assignments)
      return id
    })
    return add()
  }

  list(): FlightSummary[] {
    const rows = this.#database
      .prepare<[], FlightRow>(
        `${SELECT_FLIGHT} ORDER BY craft, COALESCE(flown_at_ms, indexed_at_ms), flight.id`,
      )
      .all()
    return rows.map((row) => summaryOf(row, parseStoredLog(row.log), this.#assignments(row.id)))
  }

  /** @throws Problem 'not-found' */
  get(flightId: number): FlightDetail {
    const row = this.#row(flightId)
    return detailOf(row, parseStoredLog(row.log), this.#assignments(flightId))
  }

  /** How the samples of a flight lie in its column file. @throws Problem 'not-found' */
  stored(flightId: number): { path: string; layout: ReadLog['layout'] } {
    const log = parseStoredLog(this.#row(flightId).log)
    return { path: this.columnFile(log.contentHash), layout: log.layout }
  }

  /**
   * Puts the columns' meanings right, and remembers them for files with the same header.
   * @throws Problem 'not-found'
   */
  assign(flightId: number, assignments: readonly Assignment[], now_ms: number): void {
    const row = this.#row(flightId)
    this.#database.transaction(() => {
      this.#writeAssignments(flightId, assignments)
      this.remember(row.header_key, assignments, now_ms)
    })()
  }

  edit(flightId: number, change: { name?: string; craft?: string; note?: string }): void {
    this.#row(flightId)
    const set = this.#database.prepare(
      `UPDATE flight SET name = COALESCE(?, name), craft = COALESCE(?, craft), note = COALESCE(?, note)
       WHERE id = ?`,
    )
    set.run(change.name ?? null, change.craft ?? null, change.note ?? null, flightId)
  }

  /** Takes a flight out of the logbook, with its column file; the log it came from is never touched. */
  remove(flightId: number): void {
    const { content_hash } = this.#row(flightId)
    this.#database.prepare('DELETE FROM file WHERE content_hash = ?').run(content_hash)
    rmSync(this.columnFile(content_hash), { force: true })
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

  close(): void {
    this.#database.close()
  }

  #row(flightId: number): FlightRow {
    const row = this.#database
      .prepare<[number], FlightRow>(`${SELECT_FLIGHT} WHERE flight.id = ?`)
      .get(flightId)
    if (!row) throw new Problem('not-found', 'That flight is no longer in the logbook.')
    return row
  }

  #assignments(flightId: number): Assignment[] {
    const rows = this.#database
      .prepare<[number], { assignment: string }>('SELECT assignment FROM assignment WHERE flight_id = ?')
      .all(flightId)
    return v.parse(
      assignmentsSchema,
      rows.map((row) => JSON.parse(row.assignment)),
    )
  }

  #writeAssignments(flightId: number, assignments: readonly Assignment[]): void {
    this.#database.prepare('DELETE FROM assignment WHERE flight_id = ?').run(flightId)
    const insert = this.#database.prepare(
      'INSERT INTO assignment (flight_id, role, assignment) VALUES (?, ?, ?)',
    )
    for (const assignment of assignments) insert.run(flightId, assignment.role, JSON.stringify(assignment))
  }
}

const SELECT_FLIGHT = `
  SELECT flight.id, flight.name, craft, note, flown_at_ms, demo, settings_name, settings_text,
         file.content_hash, file.file_name, bytes, header_key, log, indexed_at_ms
  FROM flight JOIN file USING (content_hash)`
