import Database from 'better-sqlite3'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'

/** The data folder can't be used, or another process has it; the message is one plain sentence. */
export class HomeFault extends Error {}

/**
 * Takes the data folder for this process alone, until it is released or the process ends: the lock is the
 * operating system's on an open file, so a crash leaves nothing behind to be cleared.
 * @throws HomeFault when another process has it, or it can't be written.
 */
export function lockHome(home: string): { release(): void } {
  const lock = openLock(home)
  try {
    lock.exec('BEGIN EXCLUSIVE')
  } catch (error) {
    lock.close()
    if (error instanceof Error && 'code' in error && String(error.code).startsWith('SQLITE_BUSY')) {
      throw new HomeFault(
        `The program is already running with the data folder ${home}; use its window, or give another folder by --home.`,
        { cause: error },
      )
    }
    throw error
  }
  return { release: () => lock.close() }
}

function openLock(home: string): Database.Database {
  try {
    mkdirSync(home, { recursive: true })
    return new Database(join(home, 'in-use.sqlite'), { timeout: 0 })
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error)
    throw new HomeFault(`The data folder ${home} can't be used: ${reason}`, { cause: error })
  }
}
