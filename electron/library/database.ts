import Database from 'better-sqlite3'
import { Problem } from '../../workers/log/problems.ts'
import * as start from './migrations/001-start.ts'
import * as listing from './migrations/002-listing.ts'
import * as moments from './migrations/003-moments.ts'
import * as changes from './migrations/004-changes.ts'
import * as removed from './migrations/005-removed.ts'
import * as arriving from './migrations/006-arriving.ts'

/** "TwPk": tells our database from any other SQLite file that may stand under the same name. */
const APPLICATION_ID = 0x5477506b

/** Numbered, additive migrations; user_version is the number of those applied. */
const MIGRATIONS: readonly string[] = [
  start.sql,
  listing.sql,
  moments.sql,
  changes.sql,
  removed.sql,
  arriving.sql,
]

/**
 * Opens the library's database, creating or migrating it; before a migration of existing data a copy is put
 * beside it. WAL with full synchronisation: an answer that was given is on the disk.
 *
 * @throws Problem 'cannot-read' when the file is not ours or was written by a newer version.
 */
export function openDatabase(path: string): Database.Database {
  const database = new Database(path)
  try {
    // First of all: a file of another program is left as it is.
    checkOurs(database, path)
    database.pragma('journal_mode = WAL')
    database.pragma('synchronous = FULL')
    database.pragma('foreign_keys = ON')
    database.pragma('trusted_schema = OFF')
    database.pragma('cell_size_check = ON')
    migrate(database, path)
  } catch (error) {
    database.close()
    throw saidPlainly(error, path)
  }
  return database
}

/**
 * Opens a library for reading alone, also while the program that writes it runs. Its version must be today's, for
 * nothing is migrated.
 * @throws Problem 'cannot-read' when it is not ours, damaged, or of another version
 */
export function openReadOnly(path: string): Database.Database {
  const database = new Database(path, { readonly: true, fileMustExist: true })
  try {
    checkOurs(database, path)
    if (versionOf(database) !== MIGRATIONS.length) {
      throw new Problem(
        'cannot-read',
        `The library ${path} is of another version of Twopack: open it once with this one.`,
      )
    }
    return database
  } catch (error) {
    database.close()
    throw saidPlainly(error, path)
  }
}

/** What the pilot can be told of a failed opening; anything else is passed on as it is. */
function saidPlainly(error: unknown, path: string): unknown {
  return error instanceof Database.SqliteError && error.code === 'SQLITE_NOTADB'
    ? new Problem('cannot-read', `The library file ${path} is damaged or is not Twopack's.`, {}, error)
    : error
}

/** @throws Problem 'cannot-read' when the file is another program's or a newer version's. */
function checkOurs(database: Database.Database, path: string): void {
  const version = versionOf(database)
  const id = database.pragma('application_id', { simple: true }) as number
  // One that we began and never finished is empty: tables and version come in one transaction.
  const isEmpty = database.prepare('SELECT 1 FROM sqlite_schema LIMIT 1').get() === undefined
  if (id !== APPLICATION_ID && !(id === 0 && version === 0 && isEmpty)) {
    throw new Problem('cannot-read', `The file ${path} is not a Twopack library.`)
  }
  if (version > MIGRATIONS.length) {
    throw new Problem('cannot-read', `The library ${path} was written by a newer Twopack; please update.`)
  }
}

const versionOf = (database: Database.Database): number =>
  database.pragma('user_version', { simple: true }) as number

function migrate(database: Database.Database, path: string): void {
  const version = versionOf(database)
  if (version === MIGRATIONS.length) return
  if (version > 0) database.prepare('VACUUM INTO ?').run(`${path}.before-${version + 1}.${Date.now()}`)
  database.transaction(() => {
    for (const sql of MIGRATIONS.slice(version)) database.exec(sql)
    database.pragma(`application_id = ${APPLICATION_ID}`)
    database.pragma(`user_version = ${MIGRATIONS.length}`)
  })()
}
