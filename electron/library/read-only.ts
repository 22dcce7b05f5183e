import { existsSync } from 'node:fs'
import { join } from 'node:path'
import type Database from 'better-sqlite3'
import type { Change } from '../../workers/changes/change.ts'
import { Problem } from '../../workers/log/problems.ts'
import type { Glossary } from '../../workers/settings/glossary.ts'
import type { ListedMoment } from '../desk/contract/moments.ts'
import { Changes } from './changes.ts'
import { openReadOnly } from './database.ts'
import { Memory } from './memory.ts'
import { Moments } from './moments.ts'

/** What the pilot noted of some logs, in a library that may be in use. */
export interface PilotNotes {
  /** Moments marked in these logs, by their time. */
  readonly moments: readonly ListedMoment[]
  /** Changes of any craft whose flights are of these logs. */
  readonly changes: readonly Change[]
  readonly glossary: Glossary
}

/**
 * Reads what was noted of logs, known by their content. Nothing in the library is touched.
 * @param home the program's data folder
 * @throws Problem cannot-read where there is no library, or one of another version
 */
export function pilotNotes(home: string, contentHashes: readonly string[]): PilotNotes {
  const path = join(home, 'library.sqlite')
  if (!existsSync(path)) throw new Problem('cannot-read', `There is no library in ${home}.`)
  const database: Database.Database = openReadOnly(path)
  try {
    const memory = new Memory(database)
    const changes = new Changes(database, memory)
    const isNamed = ({ before, after }: Change): boolean =>
      [...before, ...after].some(({ contentHash }) => contentHashes.includes(contentHash))
    return {
      moments: new Moments(database, (work) => work()).of(contentHashes),
      changes: changes.crafts().flatMap(({ craft }) => changes.list(craft).filter(isNamed)),
      glossary: changes.glossary(),
    }
  } finally {
    database.close()
  }
}
