import type Database from 'better-sqlite3'
import * as v from 'valibot'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { ReadLog } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { assignmentSchema, type SettingsText } from '../desk/contract/schemas.ts'
import type { FlightPart, LogJudgement } from './judgement.ts'
import type { FlightRow } from './rows.ts'

/** What is known of a flight beside its log when it is indexed. */
export interface FlightFacts {
  readonly name: string
  readonly craft: string
  readonly note: string
  readonly flownAt_ms: number | null
  readonly demo: boolean
  readonly sourcePath: string | null
  readonly settings: SettingsText | null
}

/** What the pilot may change of a flight's words. */
export interface FlightEdit {
  readonly name?: string
  readonly craft?: string
  readonly note?: string
  readonly settings?: SettingsText | null
}

const assignmentsSchema = v.array(assignmentSchema)

/** The tables of logs, flights and meanings. Whoever writes sees to transactions and lists the flights anew. */
export class FlightRows {
  readonly #database: Database.Database

  constructor(database: Database.Database) {
    this.#database = database
  }

  /** Adds a log's own row. */
  addFile(log: ReadLog, sourcePath: string | null, now_ms: number, judgement: LogJudgement): void {
    this.#database
      .prepare(
        `INSERT INTO file (content_hash, file_name, bytes, source_path, header_key, log, indexed_at_ms, notices,
                           spans, activity)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      )
      .run(
        log.contentHash,
        log.fileName,
        log.bytes,
        sourcePath,
        log.headerKey,
        recordOf(log),
        now_ms,
        JSON.stringify(judgement.fileNotices),
        JSON.stringify(judgement.spans),
        jsonOrNull(judgement.activity),
      )
  }

  /** Puts another record in the place of a known log's. */
  setLog(log: ReadLog): void {
    this.#database
      .prepare('UPDATE file SET log = ?, bytes = ? WHERE content_hash = ?')
      .run(recordOf(log), log.bytes, log.contentHash)
  }

  /** Adds a flight that is this part of a log. Returns its id. */
  add(contentHash: string, facts: FlightFacts, part: FlightPart, assignments: readonly Assignment[]): number {
    const { lastInsertRowid } = this.#database
      .prepare(
        `INSERT INTO flight (content_hash, name, craft, note, flown_at_ms, demo, settings_name, settings_text,
                             settings_how, from_row, to_row, t0_s, t1_s, clock, notices, activity)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      )
      .run(
        contentHash,
        facts.name + part.nameSuffix,
        facts.craft,
        facts.note,
        facts.flownAt_ms,
        facts.demo ? 1 : 0,
        facts.settings?.name ?? null,
        facts.settings?.text ?? null,
        facts.settings?.how ?? null,
        ...partColumns(part),
      )
    const id = Number(lastInsertRowid)
    this.setAssignments(id, assignments)
    return id
  }

  /** Makes a flight this part of its log. */
  setPart(flightId: number, part: FlightPart): void {
    this.#database
      .prepare(
        `UPDATE flight SET from_row = ?, to_row = ?, t0_s = ?, t1_s = ?, clock = ?, notices = ?, activity = ?
         WHERE id = ?`,
      )
      .run(...partColumns(part), flightId)
  }

  /** Changes a flight's words. */
  edit(flightId: number, change: FlightEdit): void {
    this.#database
      .prepare(
        `UPDATE flight SET name = COALESCE(?, name), craft = COALESCE(?, craft), note = COALESCE(?, note)
         WHERE id = ?`,
      )
      .run(change.name ?? null, change.craft ?? null, change.note ?? null, flightId)
    if (change.settings === undefined) return
    const { name = null, text = null, how = null } = change.settings ?? {}
    this.#database
      .prepare('UPDATE flight SET settings_name = ?, settings_text = ?, settings_how = ? WHERE id = ?')
      .run(name, text, how, flightId)
  }

  /** The flights of a log, in order. */
  partsOf(
    contentHash: string,
  ): { id: number; name: string; from_row: number | null; to_row: number | null }[] {
    return this.#database
      .prepare<[string], { id: number; name: string; from_row: number | null; to_row: number | null }>(
        'SELECT id, name, from_row, to_row FROM flight WHERE content_hash = ? ORDER BY COALESCE(t0_s, 0), id',
      )
      .all(contentHash)
  }

  /** A flight with its log. @throws Problem 'not-found' */
  get(flightId: number): FlightRow {
    const row = this.#database
      .prepare<[number], FlightRow>(
        `SELECT settings_name, settings_text, settings_how, clock, from_row, to_row, file.content_hash, bytes, header_key, log,
                file.notices AS file_notices, spans, file.activity AS file_activity
         FROM flight JOIN file USING (content_hash) WHERE flight.id = ?`,
      )
      .get(flightId)
    if (!row) throw new Problem('not-found', 'That flight is no longer in the logbook.')
    return row
  }

  /** The meanings in force for a flight. */
  assignments(flightId: number): Assignment[] {
    const rows = this.#database
      .prepare<[number], { assignment: string }>('SELECT assignment FROM assignment WHERE flight_id = ?')
      .all(flightId)
    return v.parse(
      assignmentsSchema,
      rows.map((row) => JSON.parse(row.assignment)),
    )
  }

  setAssignments(flightId: number, assignments: readonly Assignment[]): void {
    this.#database.prepare('DELETE FROM assignment WHERE flight_id = ?').run(flightId)
    const insert = this.#database.prepare(
      'INSERT INTO assignment (flight_id, role, assignment) VALUES (?, ?, ?)',
    )
    for (const assignment of assignments) insert.run(flightId, assignment.role, JSON.stringify(assignment))
  }
}

const partColumns = (part: FlightPart) => [
  part.rows?.from ?? null,
  part.rows?.to ?? null,
  part.span?.t0_s ?? null,
  part.span?.t1_s ?? null,
  JSON.stringify(part.clock),
  JSON.stringify(part.notices),
  jsonOrNull(part.activity),
]

/** A log as it is stored; what was seen at a glance stands with its flights. */
const recordOf = (log: ReadLog): string => JSON.stringify({ ...log, glance: undefined })

const jsonOrNull = (value: unknown): string | null => (value === null ? null : JSON.stringify(value))
