import type Database from 'better-sqlite3'
import * as v from 'valibot'
import {
  cleanNote,
  cleanTags,
  faultInPlaces,
  LONGEST,
  type Moment,
  type Place,
} from '../../workers/moments/moment.ts'
import { Problem } from '../../workers/log/problems.ts'
import type {
  FoundPlace,
  ListedMoment,
  MomentChange,
  MomentsPage,
  MomentsRequest,
} from '../desk/contract/moments.ts'
import { matchExpression } from './search-words.ts'

interface MomentRow {
  readonly number: number
  readonly id: string
  readonly tags: string
  readonly note: string
  readonly stars: number
  readonly fly_again: number
  readonly what_to_fly: string
  readonly created_at_ms: number
  readonly changed_at_ms: number
}

interface PlaceRow {
  readonly moment: number
  readonly side: 'a' | 'b'
  readonly content_hash: string
  readonly t0_s: number
  readonly t1_s: number | null
  readonly marked: number
  readonly flight_id: number | null
  readonly flight_name: string
  readonly craft: string
  readonly flown_at_ms: number | null
  readonly from_s: number | null
  readonly to_s: number | null
}

const tagsSchema = v.array(v.string())

const COLUMNS = 'number, id, tags, note, stars, fly_again, what_to_fly, created_at_ms, changed_at_ms'

/** What each sort is by; ties go by when they were marked. */
const SORTS: Record<MomentsRequest['sort'], string> = {
  marked: 'created_at_ms',
  changed: 'changed_at_ms',
  stars: 'stars',
  flown: `(SELECT max(COALESCE(flown_at_ms, 0)) FROM moment_place JOIN flight ON flight.id = flight_id
           WHERE moment = number AND marked = 1)`,
}

type Values = Record<string, string | number>

/**
 * The marked moments. A moment that is taken away is only hidden, so that it can be brought back; the links between
 * moments and flights, and what is searched, are kept true by the database itself (see the migration).
 */
export class Moments {
  readonly #database: Database.Database
  readonly #together: <T>(work: () => T) => T

  /** @param together runs several changes as one, and says it when the disk is full */
  constructor(database: Database.Database, together: <T>(work: () => T) => T) {
    this.#database = database
    this.#together = together
  }

  /**
   * Keeps a new moment.
   * @throws Problem bad-request for places that can't be, or a name that is taken; not-found when a log is not in the
   *   logbook; disk
   */
  add(moment: Moment, now_ms: number): ListedMoment {
    checkPlaces(moment.places)
    return this.#together(() => {
      const isKnown = this.#database.prepare('SELECT 1 FROM file WHERE content_hash = ?')
      if (moment.places.some(({ contentHash }) => !isKnown.get(contentHash))) {
        throw new Problem('not-found', 'That flight is no longer in the logbook.')
      }
      if (this.#database.prepare('SELECT 1 FROM moment WHERE id = ?').get(moment.id)) {
        throw new Problem('bad-request', 'There is a moment of that name already.')
      }
      const { lastInsertRowid } = this.#database
        .prepare(
          `INSERT INTO moment (id, tags, note, stars, fly_again, what_to_fly, created_at_ms, changed_at_ms)
           VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
        )
        .run(moment.id, ...wordsOf(moment), now_ms, now_ms)
      this.#writePlaces(Number(lastInsertRowid), moment.places)
      return this.get(moment.id)
    })
  }

  /** @throws Problem not-found */
  get(id: string): ListedMoment {
    return this.#listed([this.#row(id)])[0] as ListedMoment
  }

  /** Changes what is given; everything else stays. @throws Problem bad-request, not-found, disk */
  edit(id: string, change: MomentChange, now_ms: number): ListedMoment {
    if (change.places) checkPlaces(change.places)
    return this.#together(() => {
      const before = this.get(id)
      const { number } = this.#row(id)
      this.#database
        .prepare(
          `UPDATE moment SET tags = ?, note = ?, stars = ?, fly_again = ?, what_to_fly = ?, changed_at_ms = ?
           WHERE number = ?`,
        )
        .run(...wordsOf({ ...before, ...change }), now_ms, number)
      if (change.places) {
        this.#writePlaces(number, change.places)
      }
      return this.get(id)
    })
  }

  /** Takes a moment away; `restore` brings it back. @throws Problem not-found, disk */
  remove(id: string, now_ms: number): void {
    this.#together(() => {
      const { number } = this.#row(id)
      this.#database.prepare('UPDATE moment SET removed_at_ms = ? WHERE number = ?').run(now_ms, number)
    })
  }

  /** Brings back a moment that was taken away; one that is there stays as it is. @throws Problem not-found, disk */
  restore(id: string): ListedMoment {
    return this.#together(() => {
      this.#database.prepare('UPDATE moment SET removed_at_ms = NULL WHERE id = ?').run(id)
      return this.get(id)
    })
  }

  /** Forgets for good what was taken away before a time. */
  forgetRemoved(before_ms: number): void {
    this.#together(
      () => void this.#database.prepare('DELETE FROM moment WHERE removed_at_ms < ?').run(before_ms),
    )
  }

  /** All moments that are marked in these logs, by their time in them. */
  of(contentHashes: readonly string[]): ListedMoment[] {
    const rows = this.#database
      .prepare<[string], MomentRow>(
        `SELECT ${COLUMNS} FROM moment WHERE removed_at_ms IS NULL AND number IN (
           SELECT moment FROM moment_place WHERE marked = 1
           AND content_hash IN (SELECT value FROM json_each(?)))
         ORDER BY (SELECT min(t0_s) FROM moment_place WHERE moment = number AND marked = 1), number`,
      )
      .all(JSON.stringify(contentHashes))
    return this.#listed(rows)
  }

  page(request: MomentsRequest): MomentsPage {
    const { where, values } = this.#conditions(request)
    const direction = request.descending ? 'DESC' : 'ASC'
    const rows = this.#database
      .prepare<Values, MomentRow>(
        `SELECT ${COLUMNS} FROM moment ${where}
         ORDER BY ${SORTS[request.sort]} ${direction}, created_at_ms ${direction}, number ${direction}
         LIMIT :limit OFFSET :offset`,
      )
      .all({ ...values, limit: request.limit, offset: request.offset })
    const count = (filter: string, given: Values) =>
      this.#database.prepare<Values, number>(`SELECT count(*) FROM moment ${filter}`).pluck().get(given) ?? 0
    return {
      moments: this.#listed(rows),
      offset: request.offset,
      total: count(where, values),
      all: count('WHERE removed_at_ms IS NULL', {}),
      crafts: this.#database
        .prepare<[], { craft: string; count: number }>(
          `SELECT craft, count(DISTINCT moment) AS count FROM moment_place JOIN moment ON number = moment
           WHERE marked = 1 AND removed_at_ms IS NULL GROUP BY craft ORDER BY craft = '', craft COLLATE NOCASE, craft`,
        )
        .all(),
      tags: this.#database
        .prepare<[], { tag: string; count: number }>(
          `SELECT value AS tag, count(*) AS count FROM moment, json_each(tags) WHERE removed_at_ms IS NULL
           GROUP BY value ORDER BY count(*) DESC, value LIMIT 200`,
        )
        .all(),
    }
  }

  #conditions({ search, craft, tag, stars, flyAgain }: MomentsRequest): { where: string; values: Values } {
    const parts = ['removed_at_ms IS NULL']
    const values: Values = {}
    if (search.trim() !== '') {
      const match = matchExpression(search)
      parts.push(
        match === null ? '0' : 'number IN (SELECT rowid FROM moment_text WHERE moment_text MATCH :match)',
      )
      if (match !== null) values['match'] = match
    }
    if (craft !== null) {
      parts.push('number IN (SELECT moment FROM moment_place WHERE marked = 1 AND craft = :craft)')
      values['craft'] = craft
    }
    if (tag !== null) {
      parts.push('EXISTS (SELECT 1 FROM json_each(tags) WHERE value = :tag COLLATE NOCASE)')
      values['tag'] = tag
    }
    if (stars > 0) {
      parts.push('stars >= :stars')
      values['stars'] = stars
    }
    if (flyAgain) parts.push('fly_again = 1')
    return { where: `WHERE ${parts.join(' AND ')}`, values }
  }

  #row(id: string): MomentRow {
    const row = this.#database
      .prepare<[string], MomentRow>(`SELECT ${COLUMNS} FROM moment WHERE id = ? AND removed_at_ms IS NULL`)
      .get(id)
    if (!row) throw new Problem('not-found', 'That moment is no longer there.')
    return row
  }

  #listed(rows: readonly MomentRow[]): ListedMoment[] {
    const places = this.#database
      .prepare<[string], PlaceRow>(
        `SELECT moment, side, moment_place.content_hash, moment_place.t0_s, moment_place.t1_s, marked,
                flight_id, flight_name, moment_place.craft, flown_at_ms, flight.t0_s AS from_s, flight.t1_s AS to_s
         FROM moment_place LEFT JOIN flight ON flight.id = flight_id
         WHERE moment IN (SELECT value FROM json_each(?)) ORDER BY moment, side`,
      )
      .all(JSON.stringify(rows.map(({ number }) => number)))
    const byMoment = Map.groupBy(places, ({ moment }) => moment)
    return rows.map((row) => ({
      id: row.id,
      places: (byMoment.get(row.number) ?? []).map(placeOf),
      tags: v.parse(tagsSchema, JSON.parse(row.tags)),
      note: row.note,
      stars: row.stars,
      flyAgain: row.fly_again === 1,
      whatToFly: row.what_to_fly,
      createdAt_ms: row.created_at_ms,
      changedAt_ms: row.changed_at_ms,
    }))
  }

  #writePlaces(moment: number, places: readonly Place[]): void {
    this.#database
      .prepare('DELETE FROM moment_place WHERE moment = ? AND side NOT IN (SELECT value FROM json_each(?))')
      .run(moment, JSON.stringify(places.map(({ side }) => side)))
    // A place that stays keeps the name of a flight that is not in the logbook at present.
    const insert = this.#database.prepare(
      `INSERT INTO moment_place (moment, side, content_hash, t0_s, t1_s, marked) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT (moment, side) DO UPDATE SET content_hash = excluded.content_hash, t0_s = excluded.t0_s,
         t1_s = excluded.t1_s, marked = excluded.marked`,
    )
    for (const { side, contentHash, t0_s, t1_s, marked } of places) {
      insert.run(moment, side, contentHash, t0_s, t1_s, marked ? 1 : 0)
    }
  }
}

/** For the logbook's own search: flights that are found by what is noted at their moments. */
export const FLIGHTS_WITH = `
  SELECT DISTINCT flight_id FROM moment_place WHERE marked = 1 AND flight_id IS NOT NULL
  AND moment IN (SELECT rowid FROM moment_text WHERE moment_text MATCH ?)`

function placeOf(row: PlaceRow): FoundPlace {
  const start_s = row.from_s ?? 0
  return {
    side: row.side,
    contentHash: row.content_hash,
    t0_s: row.t0_s,
    t1_s: row.t1_s,
    marked: row.marked === 1,
    flightId: row.flight_id,
    flightName: row.flight_name,
    craft: row.craft,
    flownAt_ms: row.flown_at_ms,
    flightStart_s: start_s,
    inFlight: row.flight_id !== null && row.t0_s >= start_s && row.t0_s <= (row.to_s ?? Infinity),
  }
}

const wordsOf = (moment: Pick<Moment, 'tags' | 'note' | 'stars' | 'flyAgain' | 'whatToFly'>) =>
  [
    JSON.stringify(cleanTags(moment.tags)),
    cleanNote(moment.note),
    moment.stars,
    moment.flyAgain ? 1 : 0,
    cleanNote(moment.whatToFly, LONGEST.whatToFly),
  ] as const

function checkPlaces(places: readonly Place[]): void {
  const fault = faultInPlaces(places)
  if (fault) throw new Problem('bad-request', fault)
}
