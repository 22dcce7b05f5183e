/** A library of an earlier version is brought up to date with nothing lost, and a copy is put beside it first. */
import Database from 'better-sqlite3'
import { mkdirSync, mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import * as v from 'valibot'
import { expect, test } from 'vitest'
import { listRequestSchema } from '../../../electron/desk/contract/listing.ts'
import { Library } from '../../../electron/library/library.ts'
import { sql as first } from '../../../electron/library/migrations/001-start.ts'
import { readLog } from './made.ts'

/** A library as the first version wrote it, with two flights. */
function writeFirstVersion(home: string): void {
  mkdirSync(home, { recursive: true })
  const database = new Database(join(home, 'library.sqlite'))
  database.pragma('journal_mode = WAL')
  database.exec(first)
  for (const [index, hash] of ['aa', 'bb'].entries()) {
    const log = readLog(hash)
    database
      .prepare('INSERT INTO file VALUES (?, ?, ?, ?, ?, ?, ?)')
      .run(
        hash,
        log.fileName,
        log.bytes,
        index === 0 ? '/logs/one.csv' : null,
        'key',
        JSON.stringify(log),
        1000,
      )
    database
      .prepare(
        `INSERT INTO flight (content_hash, name, craft, note, flown_at_ms, settings_name, settings_text)
         VALUES (?, ?, 'Lantern', 'bent prop', ?, 's.txt', 'notch = 210')`,
      )
      .run(hash, `Flight ${index}`, index === 0 ? Date.parse('2025-05-01T10:00Z') : null)
    for (const assignment of log.assignments) {
      const sure = index === 1 && assignment.role !== 'time' ? 'guess' : 'likely'
      database
        .prepare('INSERT INTO assignment VALUES (?, ?, ?)')
        .run(index + 1, assignment.role, JSON.stringify({ ...assignment, sure }))
    }
  }
  database.pragma(`application_id = ${0x5477506b}`)
  database.pragma('user_version = 1')
  database.close()
}

test('version 1 becomes the present one', () => {
  const home = mkdtempSync(join(tmpdir(), 'twopack-migrate-'))
  try {
    writeFirstVersion(home)
    const library = new Library(home)
    const { flights } = library.listing.page(v.parse(listRequestSchema, {}))
    expect(flights).toMatchObject([
      { name: 'Flight 0', duration_s: 1, rate_hz: 10, rows: 11, source: 'here', assumed: false },
      { name: 'Flight 1', source: 'none', assumed: true, span: null, rolesFound: ['time', 'gyro.roll'] },
    ])
    expect(flights[0]?.notices).toEqual(readLog('aa').notices)
    expect(library.get(1)).toMatchObject({ clock: readLog('aa').clock, settings: { text: 'notch = 210' } })
    const found = library.listing.page(v.parse(listRequestSchema, { search: 'notch bent' }))
    expect(found.total).toBe(2)
    library.close()
    const copies = readdirSync(home).filter((name) => name.startsWith('library.sqlite.before-2.'))
    expect(copies).toHaveLength(1)
    const copy = new Database(join(home, copies[0]!), { readonly: true })
    expect(copy.prepare('SELECT name FROM flight ORDER BY id').pluck().all()).toEqual([
      'Flight 0',
      'Flight 1',
    ])
    copy.close()
    // Opened once more, nothing is migrated again.
    new Library(home).close()
    expect(readdirSync(home).filter((name) => name.includes('.before-'))).toHaveLength(1)
  } finally {
    rmSync(home, { recursive: true, force: true })
  }
})
