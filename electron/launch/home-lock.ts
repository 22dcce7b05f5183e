import Database from 'better-sqlite3'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'

/** Somebody else has the data folder open. */
export class HomeInUse extends Error {}

/**
 * Takes the data folder for this process alone, until it is released or the process ends: the lock is the
 * operating system's on an open file, so a crash leaves nothing behind to be cleared.
 * @throws HomeInUse when another process has it.
 */
export function lockHome(home: string): { release(): void } {
  mkdirSync(home, { recursive: true })
  const lock = new Database(join(home, 'in-use.sqlite'), { timeout: 0 })
  try {
    lock.exec('BEGIN EXCLUSIVE')
  } catch (error) {
    lock.close()
    if (error instanceof Error && 'code' in error && String(error.code).startsWith('SQLITE_BUSY')) {
      throw new HomeInUse(
        `The program is already running with the data folder ${home}; use its window, or give another folder by --home.`,
        { cause: error },
      )
    }
    throw error
  }
  return { release: () => lock.close() }
}
