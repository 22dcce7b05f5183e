import { existsSync, mkdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import type { Assignment } from '../../workers/columns/roles.ts'
import { readFileFacts } from '../../workers/flight/file-facts.ts'
import type { Notice, ReadLog } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import type { FlightDetail } from '../desk/contract/schemas.ts'
import { Changes } from './changes.ts'
import { Arrivals } from './archive/arrivals.ts'
import { openDatabase } from './database.ts'
import { FlightRows, type FlightEdit, type FlightFacts } from './flight-rows.ts'
import { fileNoticesOf, wholeLog, type FlightPart, type LogJudgement } from './judgement.ts'
import { Listing } from './listing.ts'
import { Memory } from './memory.ts'
import { Moments } from './moments.ts'
import { readingKey } from './reading-key.ts'
import { RemovedFlights } from './removed-flights.ts'
import { Results } from './results.ts'
import { detailOf, noticesOf, rowsOf, settingsOf, wholeLogOf } from './rows.ts'
import { Sources } from './sources.ts'
import { parseStoredLog } from './stored-log.ts'
import type { RowRange } from './survey.ts'

export type { FlightEdit, FlightFacts } from './flight-rows.ts'

/** A log in the library, for looking at it anew. */
export interface LogRecord {
  readonly log: ReadLog
  readonly columnFile: string
  readonly fileNotices: readonly Notice[]
  /** The flights made of it, in order; rows are null for one that is the whole log. */
  readonly flights: readonly { id: number; name: string; rows: RowRange | null }[]
  /** Meanings in force. */
  readonly assignments: readonly Assignment[]
}

const { SqliteError } = Database

/**
 * The indexed flights: SQLite for everything but samples, which lie in one column file per log beside it.
 * One writer; every method is synchronous and short.
 */
export class Library {
  readonly arrivals: Arrivals
  readonly changes: Changes
  readonly listing: Listing
  readonly memory: Memory
  readonly moments: Moments
  readonly results: Results
  readonly sources: Sources
  readonly #removed: RemovedFlights
  readonly #rows: FlightRows
  readonly #database: Database.Database
  readonly #columns: string

  /** @param mostPages how far the database may grow, in its pages; without end unless given */
  constructor(home: string, mostPages?: number) {
    this.#columns = join(home, 'columns')
    mkdirSync(this.#columns, { recursive: true })
    this.#database = openDatabase(join(home, 'library.sqlite'))
    if (mostPages !== undefined) this.#database.pragma(`max_page_count = ${mostPages}`)
    this.listing = new Listing(this.#database)
    this.memory = new Memory(this.#database)
    this.moments = new Moments(this.#database, (work) => this.together(work))
    this.changes = new Changes(this.#database, this.memory)
    this.results = new Results(this.#database)
    this.sources = new Sources(this.#database)
    this.#rows = new FlightRows(this.#database)
    this.#removed = new RemovedFlights(this.#database)
    this.#clearRemoved()
    this.arrivals = new Arrivals({
      database: this.#database,
      relist: (flightId) => this.listing.relist(flightId),
      columnFile: (hash) => this.columnFile(hash),
      together: (work) => this.together(work),
    })
  }

  /**
   * Several changes as one: all or nothing, and one wait for the disk.
   * @throws Problem disk when there is no room
   */
  together<T>(work: () => T): T {
    try {
      return this.#database.transaction(work)()
    } catch (error) {
      if (error instanceof SqliteError && error.code === 'SQLITE_FULL') {
        throw new Problem('disk', 'The disk is full: the logbook could not be changed.', {}, error)
      }
      throw error
    }
  }

  /** Where the database lies, for reading it by another connection. */
  get databasePath(): string {
    return this.#database.name
  }

  /** True while the samples of a log are there; a log from an archive may be known without them. */
  hasSamples(contentHash: string): boolean {
    return existsSync(this.columnFile(contentHash))
  }

  /** Puts the record of a log that was read again in the place of the one that is known; its flights stay. */
  readAgain(log: ReadLog): void {
    this.#rows.setLog(log)
  }

  /** Where the column file of a log with this content lies or is to be written. */
  columnFile(contentHash: string): string {
    return join(this.#columns, `${contentHash}.columns`)
  }

  /** The first flight made from a file with this content, or null. */
  findByContent(contentHash: string): number | null {
    return this.flightsOf(contentHash)[0] ?? null
  }

  /** The flights made from a file with this content, in their order. */
  flightsOf(contentHash: string): number[] {
    return this.#rows.partsOf(contentHash).map(({ id }) => id)
  }

  /**
   * Adds a read log with the flights in it, all or nothing. The column file must stand already.
   * Returns the flights' ids, at least one.
   */
  add(log: ReadLog, facts: FlightFacts, now_ms: number, judgement: LogJudgement = wholeLog(log)): number[] {
    return this.together(() => {
      this.sources.takeBack(log.contentHash)
      this.#removed.forget(log.contentHash)
      this.#rows.addFile(log, facts.sourcePath, now_ms, judgement)
      return judgement.parts.map((part) => this.#addPart(log.contentHash, facts, part, log.assignments))
    })
  }

  /** @throws Problem 'not-found' */
  get(flightId: number): FlightDetail {
    const row = this.#rows.get(flightId)
    const [summary] = this.listing.summaries([flightId])
    if (!summary) throw new Error(`flight ${flightId} is not listed`)
    const whole = wholeLogOf(row.spans, row.file_activity, this.#rows.partsOf(row.content_hash))
    return detailOf(summary, row, parseStoredLog(row.log), this.#rows.assignments(flightId), whole)
  }

  /** How the samples of a flight lie in its column file, and which rows it is. @throws Problem 'not-found' */
  stored(flightId: number): {
    path: string
    log: ReadLog
    rows: { readonly from: number; readonly to: number } | null
  } {
    const row = this.#rows.get(flightId)
    const log = parseStoredLog(row.log)
    return { path: this.columnFile(log.contentHash), log, rows: rowsOf(row) }
  }

  /** Names how a flight's content is read at present, for keeping results. @throws Problem 'not-found' */
  reading(flightId: number): { contentHash: string; reading: string } {
    const row = this.#rows.get(flightId)
    return {
      contentHash: row.content_hash,
      reading: readingKey(this.#rows.assignments(flightId), rowsOf(row)),
    }
  }

  /** The log that a flight was found in, with all the flights made of it. @throws Problem 'not-found' */
  logOf(flightId: number): LogRecord {
    const row = this.#rows.get(flightId)
    const log = parseStoredLog(row.log)
    return {
      log,
      columnFile: this.columnFile(row.content_hash),
      fileNotices: row.file_notices === null ? fileNoticesOf(log) : noticesOf(row.file_notices),
      flights: this.#rows
        .partsOf(row.content_hash)
        .map(({ id, name, ...rows }) => ({ id, name, rows: rowsOf(rows) })),
      assignments: this.#rows.assignments(flightId),
    }
  }

  /**
   * Puts the columns' meanings right for all flights of a log, and remembers them for files with the same header.
   * @param parts what each flight is by the new meanings
   */
  assign(parts: ReadonlyMap<number, FlightPart>, assignments: readonly Assignment[], now_ms: number): void {
    this.together(() => {
      for (const [flightId, part] of parts) {
        const row = this.#rows.get(flightId)
        this.#rows.setAssignments(flightId, assignments)
        this.memory.remember(row.header_key, assignments, now_ms)
        this.setPart(flightId, part)
      }
    })
  }

  /** Makes a flight this part of its log. @throws Problem 'not-found' */
  setPart(flightId: number, part: FlightPart): void {
    this.#rows.get(flightId)
    this.together(() => {
      this.#rows.setPart(flightId, part)
      this.listing.relist(flightId)
    })
  }

  /** Adds one more flight of a log beside this one, with this one's words and meanings. Returns its id. */
  addPart(flightId: number, part: FlightPart): number {
    const row = this.#rows.get(flightId)
    const [summary] = this.listing.summaries([flightId])
    if (!summary) throw new Error(`flight ${flightId} is not listed`)
    const facts: FlightFacts = {
      name: readFileFacts(summary.fileName, []).title,
      craft: summary.craft,
      note: '',
      flownAt_ms: summary.flownAt_ms,
      demo: summary.demo,
      sourcePath: null,
      settings: settingsOf(row),
    }
    return this.together(() => this.#addPart(row.content_hash, facts, part, this.#rows.assignments(flightId)))
  }

  /** @throws Problem 'not-found' */
  edit(flightId: number, change: FlightEdit): void {
    this.#rows.get(flightId)
    this.together(() => {
      this.#rows.edit(flightId, change)
      this.listing.relist(flightId)
    })
  }

  /**
   * Takes a flight out of the logbook. It can be brought back until the library is opened the next time; then the
   * column file of a log without flights goes as well. The log itself is never touched, and a watched folder does not
   * bring it back.
   * @throws Problem 'not-found'
   */
  remove(flightId: number, now_ms: number): void {
    const { content_hash } = this.#rows.get(flightId)
    this.together(() => {
      if (this.#removed.remove(flightId, content_hash)) this.sources.leaveOut(content_hash, now_ms)
    })
  }

  /**
   * Brings a flight back that was taken out, with its words, meanings and part of the log.
   * @throws Problem 'not-found' when it is gone for good: the program was closed, or its log was added anew
   */
  restore(flightId: number): void {
    const content = this.#removed.contentOf(flightId)
    if (content === null || !existsSync(this.columnFile(content))) {
      throw new Problem('not-found', 'That flight can no longer be brought back; please add its log again.')
    }
    this.together(() => {
      this.#removed.restore(flightId)
      this.sources.takeBack(content)
      this.listing.relist(flightId)
    })
  }

  close(): void {
    this.#database.close()
  }

  /** What was taken out when the program ran last stays out. */
  #clearRemoved(): void {
    for (const content of this.#removed.forget()) {
      if (this.findByContent(content) === null) rmSync(this.columnFile(content), { force: true })
    }
  }

  #addPart(
    contentHash: string,
    facts: FlightFacts,
    part: FlightPart,
    assignments: readonly Assignment[],
  ): number {
    const id = this.#rows.add(contentHash, facts, part, assignments)
    this.listing.relist(id)
    return id
  }
}
