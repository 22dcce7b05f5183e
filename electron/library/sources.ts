import { sep } from 'node:path'
import type Database from 'better-sqlite3'

/** A place where a log lies or lay. */
export interface Source {
  readonly path: string
  /** Null for a file that could not be read as a log. */
  readonly contentHash: string | null
  readonly bytes: number
  /** Time of its last change, milliseconds since 1970: with the size, enough to know a file unchanged. */
  readonly changed_ms: number
  /** 'refused': looked into, and no log. */
  readonly state: 'here' | 'missing' | 'refused'
  readonly problem: string | null
}

interface Row {
  readonly path: string
  readonly content_hash: string | null
  readonly bytes: number
  readonly changed_ms: number
  readonly state: Source['state']
  readonly problem: string | null
}

const sourceOf = ({ content_hash, ...row }: Row): Source => ({ ...row, contentHash: content_hash })

/** Where logs lie, which folders are watched, and which logs the pilot took out of the logbook. */
export class Sources {
  readonly #database: Database.Database

  constructor(database: Database.Database) {
    this.#database = database
  }

  at(path: string): Source | null {
    const row = this.#database.prepare<[string], Row>('SELECT * FROM source WHERE path = ?').get(path)
    return row ? sourceOf(row) : null
  }

  /** All places in a folder, whatever their state. */
  under(folder: string): Source[] {
    const inside = folder.endsWith(sep) ? folder : folder + sep
    return this.#database
      .prepare<[string, string], Row>(
        'SELECT * FROM source WHERE substr(path, 1, length(?)) = ? ORDER BY path',
      )
      .all(inside, inside)
      .map(sourceOf)
  }

  /** Every place where a log was, whatever its state. */
  all(): Source[] {
    return this.#database.prepare<[], Row>('SELECT * FROM source ORDER BY path').all().map(sourceOf)
  }

  /**
   * Keeps what was seen at a place. A log that is seen here and is missing elsewhere has moved: the old place is
   * forgotten.
   */
  see(source: Source, now_ms: number): void {
    this.#database.transaction(() => {
      this.#database
        .prepare(
          `INSERT OR REPLACE INTO source (path, content_hash, bytes, changed_ms, state, problem, seen_at_ms)
           VALUES (?, ?, ?, ?, ?, ?, ?)`,
        )
        .run(
          source.path,
          source.contentHash,
          source.bytes,
          source.changed_ms,
          source.state,
          source.problem,
          now_ms,
        )
      if (source.state !== 'here') return
      this.#database
        .prepare(`DELETE FROM source WHERE content_hash = ? AND state = 'missing'`)
        .run(source.contentHash)
      this.#database
        .prepare(
          `UPDATE file SET source_path = ? WHERE content_hash = ? AND NOT EXISTS
             (SELECT 1 FROM source WHERE path = file.source_path AND content_hash = file.content_hash)`,
        )
        .run(source.path, source.contentHash)
    })()
  }

  /** A place where nothing is any more. What was no log is forgotten, a log is missed. */
  miss(path: string): void {
    this.#database.prepare(`DELETE FROM source WHERE path = ? AND state = 'refused'`).run(path)
    this.#database.prepare(`UPDATE source SET state = 'missing' WHERE path = ?`).run(path)
  }

  folders(): string[] {
    return this.#database.prepare<[], string>('SELECT path FROM folder ORDER BY path').pluck().all()
  }

  addFolder(path: string, now_ms: number): void {
    this.#database.prepare('INSERT OR IGNORE INTO folder (path, added_at_ms) VALUES (?, ?)').run(path, now_ms)
  }

  removeFolder(path: string): void {
    this.#database.prepare('DELETE FROM folder WHERE path = ?').run(path)
  }

  /** True for a log that the pilot took out of the logbook: a watched folder does not bring it back. */
  isLeftOut(contentHash: string): boolean {
    return (
      this.#database.prepare<[string]>('SELECT 1 FROM left_out WHERE content_hash = ?').get(contentHash) !==
      undefined
    )
  }

  leaveOut(contentHash: string, now_ms: number): void {
    this.#database.prepare('INSERT OR IGNORE INTO left_out VALUES (?, ?)').run(contentHash, now_ms)
  }

  takeBack(contentHash: string): void {
    this.#database.prepare('DELETE FROM left_out WHERE content_hash = ?').run(contentHash)
  }
}
