import type Database from 'better-sqlite3'
import * as v from 'valibot'
import type { Change, FlightOfChange } from '../../workers/changes/change.ts'
import type { Glossary } from '../../workers/settings/glossary.ts'
import { changeSchema, glossarySchema } from '../desk/contract/changes.ts'
import type { Memory } from './memory.ts'

const GLOSSARY_KEY = 'glossary'

/** The trails of changes, one a craft, and the pilot's glossary of settings. */
export class Changes {
  readonly #database: Database.Database
  readonly #memory: Memory

  constructor(database: Database.Database, memory: Memory) {
    this.#database = database
    this.#memory = memory
  }

  /** A craft's changes in the order made. Flights that came back under another id are known again by log and name. */
  list(craft: string): Change[] {
    return this.#database
      .prepare<[string], { record: string }>(
        'SELECT record FROM change WHERE craft = ? ORDER BY made_at_ms, id',
      )
      .all(craft)
      .map(({ record }) => this.#found(changeOf(record)))
  }

  /** Adds a change, or puts it in the place of the one with its id. */
  put(change: Change): void {
    this.#database
      .prepare('INSERT OR REPLACE INTO change (id, craft, made_at_ms, record) VALUES (?, ?, ?, ?)')
      .run(change.id, change.craft, Math.round(change.madeAt_ms), JSON.stringify(change))
  }

  remove(id: string): void {
    this.#database.prepare('DELETE FROM change WHERE id = ?').run(id)
  }

  /** Crafts that have flights or changes, with how many of each; those without a name last. */
  crafts(): { craft: string; changes: number; flights: number }[] {
    return this.#database
      .prepare<[], { craft: string; changes: number; flights: number }>(
        `SELECT craft, sum(changes) AS changes, sum(flights) AS flights FROM (
           SELECT craft, count(*) AS changes, 0 AS flights FROM change GROUP BY craft
           UNION ALL SELECT craft, 0, count(*) FROM listing GROUP BY craft)
         GROUP BY craft ORDER BY craft = '', craft COLLATE NOCASE, craft`,
      )
      .all()
  }

  /** Of the flights that a trail names, those in the logbook. */
  present(changes: readonly Change[]): number[] {
    const named = new Set(
      changes.flatMap(({ before, after }) => [...before, ...after].map((one) => one.flightId)),
    )
    const there = this.#database.prepare<[number], { id: number }>('SELECT id FROM flight WHERE id = ?')
    return [...named].filter((id) => there.get(id) !== undefined)
  }

  /** The newest flights of a craft by the time flown, at most so many, oldest first. */
  flightsOf(craft: string, most: number): number[] {
    return this.#database
      .prepare<[string, number], { id: number }>(
        `SELECT flight_id AS id FROM listing WHERE craft = ? ORDER BY at_ms DESC, flight_id DESC LIMIT ?`,
      )
      .all(craft, most)
      .map(({ id }) => id)
      .reverse()
  }

  glossary(): Glossary {
    const kept = this.#memory.kept(GLOSSARY_KEY)
    return kept === null ? [] : v.parse(glossarySchema, JSON.parse(kept))
  }

  keepGlossary(glossary: Glossary): void {
    this.#memory.keep(GLOSSARY_KEY, JSON.stringify(glossary))
  }

  #found(change: Change): Change {
    const known = (flight: FlightOfChange): FlightOfChange => {
      const rows = this.#database
        .prepare<[string], { id: number; name: string }>('SELECT id, name FROM flight WHERE content_hash = ?')
        .all(flight.contentHash)
      if (rows.some(({ id }) => id === flight.flightId)) return flight
      const again = rows.find(({ name }) => name === flight.name) ?? (rows.length === 1 ? rows[0] : undefined)
      return again ? { ...flight, flightId: again.id } : flight
    }
    return { ...change, before: change.before.map(known), after: change.after.map(known) }
  }
}

/** @throws when the stored text does not fit: the library was damaged. */
function changeOf(record: string): Change {
  return v.parse(changeSchema, JSON.parse(record))
}
