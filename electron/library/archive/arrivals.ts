import { existsSync, renameSync, rmSync } from 'node:fs'
import type Database from 'better-sqlite3'
import * as v from 'valibot'
import type { Work } from '../../desk/incoming.ts'
import { Slices } from '../slices.ts'
import { Merge, takeOut, type AddedKey, type Merged } from './merge.ts'
import type { StagedArchive } from './read-archive.ts'

/** What of the library an arrival needs. */
export interface Home {
  readonly database: Database.Database
  relist(flightId: number): void
  columnFile(contentHash: string): string
  /** Several changes as one. @throws Problem disk */
  together<T>(work: () => T): T
}

const keySchema = v.array(v.union([v.string(), v.number(), v.null()]))
/** Adding comes after checking, which takes about as long: see `stageArchive`. */
const CHECKED_SHARE = 0.5
const NEVER = new AbortController().signal

/**
 * Archives on their way into the library, and out of it again. That takes seconds for a large one, and the library has
 * one writer: so it is done in slices, each a transaction of its own, between which everyone else is served. What was
 * added is written down in the same transactions: cancelled, failed or broken off, it is taken out again, at the latest
 * when the library is opened the next time.
 */
export class Arrivals {
  readonly #home: Home

  constructor(home: Home) {
    this.#home = home
    this.#finish()
  }

  /**
   * Adds what an archive holds and the library lacks, all or nothing; what is there already stays as it is. Samples are
   * moved out of the archive's folder. One at a time.
   * @throws Problem disk when there is no room; cancelled
   */
  async bringIn(archive: StagedArchive, { signal, report }: Work): Promise<Merged> {
    const keys: AddedKey[] = []
    const placed: string[] = []
    const merge = new Merge(archive, {
      database: this.#home.database,
      relist: (flightId) => this.#home.relist(flightId),
      hasSamples: (hash) => existsSync(this.#home.columnFile(hash)),
      added: (key) => {
        this.#note(key)
        keys.push(key)
        if (key.what === 'columns') placed.push(key.key[0] as string)
      },
    })
    let done = 0
    try {
      await this.#inSlices(merge.steps(), signal, (steps) => {
        // Written down before they are moved: no crash can leave samples that belong to nothing.
        for (const hash of placed.splice(0))
          renameSync(archive.columns.get(hash) as string, this.#home.columnFile(hash))
        done += steps
        report({
          phase: 'Adding what is new',
          done: CHECKED_SHARE + (1 - CHECKED_SHARE) * Math.min(1, done / Math.max(1, archive.steps)),
        })
      })
      this.#forget()
      return { added: merge.added, known: merge.known, keys }
    } catch (error) {
      report({ phase: 'Taking out what was added', done: 1 })
      await this.#takeOut(this.#noted())
      throw error
    }
  }

  /** Takes back what an archive brought in, all or nothing; one at a time. @throws Problem disk */
  async takeBack({ keys }: Pick<Merged, 'keys'>): Promise<void> {
    this.#home.together(() => keys.forEach((key) => this.#note(key)))
    await this.#takeOut(keys)
  }

  /** Each slice in a transaction; then others have their turn. */
  async #inSlices(
    steps: Generator<void>,
    signal: AbortSignal,
    onSlice: (steps: number) => void,
  ): Promise<void> {
    const slices = new Slices()
    for (let isDone = false; !isDone;) {
      let count = 0
      this.#home.together(() => {
        do {
          isDone = steps.next().done === true
          count++
        } while (!isDone && !slices.isOver)
      })
      onSlice(count)
      await slices.turn(isDone ? NEVER : signal)
    }
  }

  async #takeOut(keys: readonly AddedKey[]): Promise<void> {
    await this.#inSlices(takeOut(this.#home.database, keys), NEVER, () => undefined)
    this.#forget()
    this.#removeSamples(keys)
  }

  #removeSamples(keys: readonly AddedKey[]): void {
    for (const { what, key } of keys)
      if (what === 'columns') rmSync(this.#home.columnFile(key[0] as string), { force: true })
  }

  /** Takes out what an earlier run left half-way. */
  #finish(): void {
    const keys = this.#noted()
    if (keys.length === 0) return
    this.#home.together(() => {
      const steps = takeOut(this.#home.database, keys)
      while (!steps.next().done);
      this.#forget()
    })
    this.#removeSamples(keys)
  }

  #note({ what, key }: AddedKey): void {
    this.#home.database
      .prepare('INSERT INTO arriving (what, key) VALUES (?, ?)')
      .run(what, JSON.stringify(key))
  }

  #noted(): AddedKey[] {
    return this.#home.database
      .prepare<[], { what: string; key: string }>('SELECT what, key FROM arriving ORDER BY number')
      .all()
      .map(({ what, key }) => ({ what, key: v.parse(keySchema, JSON.parse(key)) }))
  }

  #forget(): void {
    this.#home.database.prepare('DELETE FROM arriving').run()
  }
}
