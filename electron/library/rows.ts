import { ROLES, type Assignment } from '../../workers/columns/roles.ts'
import type { Notice, ReadLog } from '../../workers/log/log.ts'
import type { FlightDetail, FlightSummary } from '../desk/contract/schemas.ts'

/** A flight joined with its file, as SQLite gives it. */
export interface FlightRow {
  readonly id: number
  readonly name: string
  readonly craft: string
  readonly note: string
  readonly flown_at_ms: number | null
  readonly demo: number
  readonly settings_name: string | null
  readonly settings_text: string | null
  readonly content_hash: string
  readonly file_name: string
  readonly bytes: number
  readonly header_key: string
  readonly log: string
  readonly indexed_at_ms: number
}

/** A flight as a line of the logbook. */
export function summaryOf(row: FlightRow, log: ReadLog, assignments: readonly Assignment[]): FlightSummary {
  const found = new Set(assignments.map((assignment) => assignment.role))
  return {
    id: row.id,
    name: row.name,
    craft: row.craft,
    note: row.note,
    fileName: row.file_name,
    flownAt_ms: row.flown_at_ms,
    indexedAt_ms: row.indexed_at_ms,
    duration_s: log.clock.duration_s,
    rate_hz: log.clock.effectiveRate_hz,
    rows: log.rows,
    rolesFound: ROLES.filter((role) => found.has(role)),
    assumed: assignments.some((assignment) => assignment.sure === 'guess' && assignment.setBy === 'program'),
    notices: [...log.notices] as Notice[],
    demo: row.demo === 1,
  }
}

/** A flight with all that is known of it but its samples. */
export function detailOf(row: FlightRow, log: ReadLog, assignments: readonly Assignment[]): FlightDetail {
  const order = new Map(ROLES.map((role, index) => [role, index]))
  return {
    ...summaryOf(row, log, assignments),
    contentHash: row.content_hash,
    bytes: row.bytes,
    dialect: log.dialect,
    preamble: [...log.preamble],
    headerKey: row.header_key,
    columns: log.columns.map((column) => ({ ...column, examples: [...column.examples] })),
    assignments: [...assignments].sort((a, b) => (order.get(a.role) ?? 0) - (order.get(b.role) ?? 0)),
    clock: log.clock,
    settings: row.settings_name === null ? null : { name: row.settings_name, text: row.settings_text ?? '' },
  }
}
