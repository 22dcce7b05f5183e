import type Database from 'better-sqlite3'
import * as v from 'valibot'
import type { PreambleEntry } from '../../workers/log/log.ts'
import type { FlightGroup, ListRequest, PlaceRequest } from '../desk/contract/listing.ts'
import { preambleEntrySchema, type FlightSummary } from '../desk/contract/schemas.ts'
import { FLIGHTS_WITH } from './moments.ts'
import { summaryOf, type SummaryRow } from './rows.ts'
import { matchExpression } from './search-words.ts'

/** A flight's settings as they are kept: a sheet, else the lines above its log's table. */
export interface KeptSettings {
  readonly flightId: number
  readonly settings: { readonly name: string; readonly text: string } | null
  readonly preamble: readonly PreambleEntry[]
}

const preambleSchema = v.array(preambleEntrySchema)

/** One page of the logbook, with what the whole list is made of. */
export interface ListedPage {
  readonly flights: FlightSummary[]
  /** Flights that fit the request, on all pages. */
  readonly total: number
  /** The groups of all pages in their order; empty when nothing is grouped. */
  readonly groups: FlightGroup[]
  /** Flights in the logbook, whether they fit or not. */
  readonly all: number
  readonly crafts: { craft: string; count: number }[]
}

const SUMMARY = `
  SELECT flight_id AS id, listing.name, listing.craft, flight.note, flown_at_ms, demo, duration_s, rate_hz, rows,
         assumed, roles, listing.file_name, listing.indexed_at_ms, t0_s, t1_s, flight.notices, flight.activity,
         CASE
           WHEN EXISTS (SELECT 1 FROM source WHERE source.content_hash = listing.content_hash AND state = 'here')
             THEN 'here'
           WHEN EXISTS (SELECT 1 FROM source WHERE path = file.source_path AND state <> 'missing') THEN 'changed'
           WHEN file.source_path IS NOT NULL
             OR EXISTS (SELECT 1 FROM source WHERE source.content_hash = listing.content_hash) THEN 'missing'
           ELSE 'none'
         END AS source
  FROM listing JOIN flight ON flight.id = flight_id JOIN file ON file.content_hash = listing.content_hash`

/** What each sort is by; ties go by time. */
const SORTS: Record<ListRequest['sort'], string> = {
  flown: 'at_ms',
  name: 'listing.name COLLATE NOCASE',
  craft: 'listing.craft COLLATE NOCASE',
  length: 'duration_s',
  rate: 'rate_hz',
  health: 'cautions',
}

/** Flights without a craft's name, or without a day, always stand last. */
const CRAFT_ORDER = `listing.craft = '', listing.craft COLLATE NOCASE, listing.craft`

const GROUPS: Record<ListRequest['group'], readonly ('craft' | 'day')[]> = {
  none: [],
  craft: ['craft'],
  day: ['day'],
  'craft-day': ['craft', 'day'],
}

/** The listed side of the library: narrow rows that are searched, sorted and grouped without opening a log's record. */
export class Listing {
  readonly #database: Database.Database

  constructor(database: Database.Database) {
    this.#database = database
  }

  /** Brings a flight's line and its searchable text up to what the other tables say. */
  relist(flightId: number): void {
    this.#database.prepare(RELIST).run(flightId)
    this.#database.prepare('DELETE FROM flight_text WHERE rowid = ?').run(flightId)
    this.#database.prepare(RETEXT).run(flightId)
  }

  page(request: ListRequest): ListedPage {
    const { where, values } = this.#conditions(request)
    const order = orderOf(request)
    const rows = this.#database
      .prepare<object, SummaryRow>(
        `${SUMMARY} WHERE flight_id IN
           (SELECT flight_id FROM listing ${where} ORDER BY ${order} LIMIT :limit OFFSET :offset)
         ORDER BY ${order}`,
      )
      .all({ ...values, limit: request.limit, offset: request.offset })
    const groups = this.#groups(request, where, values)
    const crafts = this.#database
      .prepare<[], { craft: string; count: number }>(
        `SELECT craft, count(*) AS count FROM listing GROUP BY craft ORDER BY ${CRAFT_ORDER}`,
      )
      .all()
    return {
      flights: rows.map(summaryOf),
      total: groups.reduce((sum, { count }) => sum + count, 0),
      groups: request.group === 'none' ? [] : groups,
      all: crafts.reduce((sum, { count }) => sum + count, 0),
      crafts,
    }
  }

  /** How many flights stand before this one in the list; null when it is not in it. */
  place(request: PlaceRequest): number | null {
    const { where, values } = this.#conditions(request)
    const index = this.#database
      .prepare<Values, number>(
        `SELECT place FROM
           (SELECT flight_id, row_number() OVER (ORDER BY ${orderOf(request)}) - 1 AS place FROM listing ${where})
         WHERE flight_id = :flightId`,
      )
      .pluck()
      .get({ ...values, flightId: request.flightId })
    return index ?? null
  }

  /** The lines of these flights that are still there, in no particular order. */
  summaries(flightIds: readonly number[]): FlightSummary[] {
    const select = this.#database.prepare<[number], SummaryRow>(`${SUMMARY} WHERE flight_id = ?`)
    return flightIds.flatMap((id) => {
      const row = select.get(id)
      return row ? [summaryOf(row)] : []
    })
  }

  /** The flight before this one of the same craft, by the time flown; null when there is none. */
  previous(flightId: number): FlightSummary | null {
    const row = this.#database
      .prepare<[number], { id: number }>(
        `SELECT other.flight_id AS id FROM listing AS this JOIN listing AS other ON other.craft = this.craft
         WHERE this.flight_id = ? AND (other.at_ms, other.flight_id) < (this.at_ms, this.flight_id)
         ORDER BY other.at_ms DESC, other.flight_id DESC LIMIT 1`,
      )
      .get(flightId)
    return row ? (this.summaries([row.id])[0] ?? null) : null
  }

  /** A flight's settings and those of the newest other flights of its craft, as they are kept: the flight itself stands first. */
  settingsOfCraft(flightId: number): KeptSettings[] {
    return this.#database
      .prepare<[number], { id: number; name: string | null; text: string | null; preamble: string | null }>(
        `SELECT other.id, other.settings_name AS name, other.settings_text AS text,
                CASE WHEN other.settings_text IS NULL THEN json_extract(file.log, '$.preamble') END AS preamble
         FROM flight AS this JOIN flight AS other ON other.craft = this.craft
         JOIN file ON file.content_hash = other.content_hash
         WHERE this.id = ?
         ORDER BY other.id = this.id DESC, other.flown_at_ms DESC, other.id DESC LIMIT 200`,
      )
      .all(flightId)
      .map(({ id, name, text, preamble }) => ({
        flightId: id,
        settings: text === null ? null : { name: name ?? '', text },
        preamble: v.parse(preambleSchema, JSON.parse(preamble ?? '[]')),
      }))
  }

  #conditions({ search, craft, health }: ListQuery): { where: string; values: Values } {
    const parts: string[] = []
    const values: Values = {}
    if (search.trim() !== '') {
      parts.push('flight_id IN (SELECT value FROM json_each(:found))')
      values['found'] = JSON.stringify(this.#found(search))
    }
    if (craft !== null) {
      parts.push('listing.craft = :craft')
      values['craft'] = craft
    }
    if (health !== 'any') parts.push(health === 'clean' ? 'cautions = 0' : 'cautions > 0')
    return { where: parts.length > 0 ? `WHERE ${parts.join(' AND ')}` : '', values }
  }

  /** In flights and in their moments; searched once, since page and groups both need it. */
  #found(search: string): number[] {
    const match = matchExpression(search)
    if (match === null) return []
    return this.#database
      .prepare<[string, string], number>(
        `SELECT rowid FROM flight_text WHERE flight_text MATCH ? UNION ${FLIGHTS_WITH}`,
      )
      .pluck()
      .all(match, match)
  }

  #groups(request: ListQuery, where: string, values: Values): FlightGroup[] {
    const by = GROUPS[request.group]
    const columns = (['craft', 'day'] as const).map((name) => (by.includes(name) ? name : `NULL AS ${name}`))
    const grouping =
      by.length === 0 ? '' : `GROUP BY ${by.join(', ')} ORDER BY ${groupOrder(request).join(', ')}`
    return this.#database
      .prepare<Values, FlightGroup>(
        `SELECT ${columns.join(', ')}, count(*) AS count FROM listing ${where} ${grouping}`,
      )
      .all(values)
  }
}

type ListQuery = Omit<PlaceRequest, 'flightId'>
type Values = Record<string, string | number>

function groupOrder({ group, sort, descending }: ListQuery): string[] {
  // Days follow the direction of time only where time is what is sorted by; else the newest comes first.
  const days = sort === 'flown' && !descending ? 'ASC' : 'DESC'
  return GROUPS[group].map((by) => (by === 'craft' ? CRAFT_ORDER : `day = '', day ${days}`))
}

function orderOf(request: ListQuery): string {
  const direction = request.descending ? 'DESC' : 'ASC'
  return [
    ...groupOrder(request),
    `${SORTS[request.sort]} ${direction}`,
    `at_ms ${direction}`,
    `flight_id ${direction}`,
  ].join(', ')
}

const RELIST = `
  INSERT OR REPLACE INTO listing
  SELECT flight.id, flight.craft,
    COALESCE(strftime('%Y-%m-%d', flown_at_ms / 1000, 'unixepoch'), ''),
    COALESCE(flown_at_ms, indexed_at_ms) + CAST(1000 * COALESCE(t0_s, 0) AS INTEGER), flight.name,
    COALESCE(clock ->> '$.duration_s', 0), clock ->> '$.effectiveRate_hz', clock ->> '$.rows',
    (SELECT count(*) FROM json_each(flight.notices) AS notice WHERE notice.value ->> '$.level' <> 'info'),
    EXISTS (SELECT 1 FROM assignment WHERE flight_id = flight.id
      AND assignment ->> '$.sure' = 'guess' AND assignment ->> '$.setBy' = 'program'),
    (SELECT json_group_array(role) FROM assignment WHERE flight_id = flight.id),
    file_name, file.content_hash, indexed_at_ms
  FROM flight JOIN file USING (content_hash) WHERE flight.id = ?`

const RETEXT = `
  INSERT INTO flight_text (rowid, name, craft, note, file_name, settings)
  SELECT flight.id, flight.name, craft, note, file_name,
    COALESCE(settings_name, '') || ' ' || COALESCE(settings_text, '')
  FROM flight JOIN file USING (content_hash) WHERE flight.id = ?`
