import type Database from 'better-sqlite3'

/** What a result was computed of and by: the same key, the same result. */
export interface ResultKey {
  readonly contentHash: string
  /** How the content was read: meanings, units, signs and the part of the log (see `readingKey`). */
  readonly reading: string
  readonly method: string
  /** Raised whenever the method would give other numbers. */
  readonly version: number
  readonly parameters: Readonly<Record<string, string | number | boolean | null>>
}

/** Results are kept up to so many bytes of JSON in all; the longest unused go first. */
const MOST_BYTES = 200_000_000

/**
 * Computed results, so that what was computed once is there at once. A changed file has another content, a changed
 * meaning another reading: neither ever meets an old result. Results go with the file's record.
 */
export class Results {
  readonly #database: Database.Database
  readonly #most: number

  constructor(database: Database.Database, mostBytes = MOST_BYTES) {
    this.#database = database
    this.#most = mostBytes
  }

  /** The kept result as JSON, or null. */
  get(key: ResultKey, now_ms: number): string | null {
    const row = this.#database
      .prepare<unknown[], { value: string }>(
        `UPDATE result SET used_at_ms = ? WHERE content_hash = ? AND reading = ? AND method = ? AND version = ?
         AND parameters = ? RETURNING value`,
      )
      .get(now_ms, ...keyOf(key))
    return row?.value ?? null
  }

  /** Keeps a result; one of a log that is gone is not kept. Older versions of the same method go, as do the longest unused when there are too many. */
  keep(key: ResultKey, json: string, now_ms: number): void {
    this.#database.transaction(() => {
      const known = this.#database.prepare('SELECT 1 FROM file WHERE content_hash = ?').get(key.contentHash)
      if (!known) return
      this.#database
        .prepare('DELETE FROM result WHERE content_hash = ? AND method = ? AND version < ?')
        .run(key.contentHash, key.method, key.version)
      this.#database
        .prepare('INSERT OR REPLACE INTO result VALUES (?, ?, ?, ?, ?, ?, ?)')
        .run(...keyOf(key), json, now_ms)
      this.#makeRoom()
    })()
  }

  #makeRoom(): void {
    // octet_length, unlike length, knows the size without reading the text.
    const size = this.#database.prepare<[], { size: number | null }>(
      'SELECT sum(octet_length(value)) AS size FROM result',
    )
    let left = size.get()?.size ?? 0
    if (left <= this.#most) return
    const oldest = this.#database
      .prepare<[], { used_at_ms: number; size: number }>(
        'SELECT used_at_ms, sum(octet_length(value)) AS size FROM result GROUP BY used_at_ms ORDER BY used_at_ms',
      )
      .all()
    for (const { used_at_ms, size } of oldest) {
      if (left <= this.#most) return
      this.#database.prepare('DELETE FROM result WHERE used_at_ms = ?').run(used_at_ms)
      left -= size
    }
  }
}

function keyOf({ contentHash, reading, method, version, parameters }: ResultKey) {
  // Order of names must not matter.
  const sorted = Object.entries(parameters).sort(([a], [b]) => (a < b ? -1 : 1))
  return [contentHash, reading, method, version, JSON.stringify(sorted)] as const
}
