import * as v from 'valibot'
import { ROLES, type Assignment } from '../../workers/columns/roles.ts'
import type { ClockReport, Notice, ReadLog } from '../../workers/log/log.ts'
import { readingKey } from './reading-key.ts'
import {
  activitySchema,
  clockReportSchema,
  noticeSchema,
  offeredKindSchema,
  roleSchema,
  sourceStateSchema,
  type FlightDetail,
  type FlightSummary,
  type SettingsText,
} from '../desk/contract/schemas.ts'

/** A line of the logbook, as SQLite gives it. */
export interface SummaryRow {
  readonly id: number
  readonly name: string
  readonly craft: string
  readonly note: string
  readonly flown_at_ms: number | null
  readonly demo: number
  readonly duration_s: number
  readonly rate_hz: number | null
  readonly rows: number
  readonly assumed: number
  readonly roles: string
  readonly file_name: string
  readonly indexed_at_ms: number
  readonly t0_s: number | null
  readonly t1_s: number | null
  readonly notices: string
  readonly activity: string | null
  readonly source: string
}

/** What a flight has beside its line: its own record and its file's. */
export interface FlightRow {
  readonly settings_name: string | null
  readonly settings_text: string | null
  readonly settings_how: string | null
  readonly clock: string
  readonly from_row: number | null
  readonly to_row: number | null
  readonly content_hash: string
  readonly bytes: number
  readonly header_key: string
  readonly log: string
  readonly file_notices: string | null
  /** The flights found in the file. */
  readonly spans: string | null
  readonly file_activity: string | null
}

const noticesSchema = v.array(noticeSchema)
const rolesSchema = v.array(roleSchema)

/** A flight as a line of the logbook. @throws when stored JSON does not fit: the library was damaged. */
export function summaryOf(row: SummaryRow): FlightSummary {
  const found = new Set(v.parse(rolesSchema, JSON.parse(row.roles)))
  return {
    id: row.id,
    name: row.name,
    craft: row.craft,
    note: row.note,
    fileName: row.file_name,
    flownAt_ms: row.flown_at_ms,
    indexedAt_ms: row.indexed_at_ms,
    duration_s: row.duration_s,
    rate_hz: row.rate_hz ?? NaN,
    rows: row.rows,
    span: row.t0_s === null || row.t1_s === null ? null : { t0_s: row.t0_s, t1_s: row.t1_s },
    activity: row.activity === null ? null : v.parse(activitySchema, JSON.parse(row.activity)),
    source: v.parse(sourceStateSchema, row.source),
    rolesFound: ROLES.filter((role) => found.has(role)),
    assumed: row.assumed === 1,
    notices: v.parse(noticesSchema, JSON.parse(row.notices)),
    demo: row.demo === 1,
  }
}

/** A flight with all that is known of it but its samples. */
export function detailOf(
  summary: FlightSummary,
  row: FlightRow,
  log: ReadLog,
  assignments: readonly Assignment[],
  whole: WholeLog,
): FlightDetail {
  const order = new Map(ROLES.map((role, index) => [role, index]))
  return {
    ...summary,
    contentHash: row.content_hash,
    reading: readingKey(assignments, rowsOf(row)),
    bytes: row.bytes,
    dialect: log.dialect,
    preamble: [...log.preamble],
    headerKey: row.header_key,
    columns: log.columns.map((column) => ({ ...column, examples: [...column.examples] })),
    assignments: [...assignments].sort((a, b) => (order.get(a.role) ?? 0) - (order.get(b.role) ?? 0)),
    clock: clockOf(row.clock),
    log: { duration_s: log.clock.duration_s, ...whole },
    settings: settingsOf(row),
  }
}

/** The settings kept with a flight; null when there are none. */
export function settingsOf({
  settings_name: name,
  settings_text: text,
  settings_how: how,
}: Pick<FlightRow, 'settings_name' | 'settings_text' | 'settings_how'>): SettingsText | null {
  return name === null ? null : { name, text: text ?? '', ...(how === null ? {} : { how }) }
}

/** Which rows of its log a flight is; null for all. */
export function rowsOf({
  from_row,
  to_row,
}: Pick<FlightRow, 'from_row' | 'to_row'>): { readonly from: number; readonly to: number } | null {
  return from_row === null || to_row === null ? null : { from: from_row, to: to_row }
}

/** What the details show of the log as a whole. */
export type WholeLog = Omit<FlightDetail['log'], 'duration_s'>

const spansSchema = v.array(
  v.object({
    from: v.number(),
    to: v.number(),
    t0_s: v.number(),
    t1_s: v.number(),
    kind: offeredKindSchema,
    how: v.string(),
  }),
)

/** The flights found in a log, each with the flight of the logbook that is made of it. */
export function wholeLogOf(
  spans: string | null,
  activity: string | null,
  flights: readonly { id: number; name: string; from_row: number | null; to_row: number | null }[],
): WholeLog {
  const found = spans === null ? [] : v.parse(spansSchema, JSON.parse(spans))
  return {
    activity: activity === null ? null : v.parse(activitySchema, JSON.parse(activity)),
    spans: found.map(({ from, to, ...span }) => {
      const made = flights.find(({ from_row, to_row }) => from_row === from && to_row === to)
      return { ...span, flight: made ? { flightId: made.id, name: made.name } : null }
    }),
  }
}

/** @throws when the stored text does not fit: the library was damaged. */
export function clockOf(json: string): ClockReport {
  return v.parse(clockReportSchema, JSON.parse(json))
}

/** @throws when the stored text does not fit: the library was damaged. */
export function noticesOf(json: string): Notice[] {
  return v.parse(noticesSchema, JSON.parse(json))
}
