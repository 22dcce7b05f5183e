import { watch, type FSWatcher } from 'node:fs'
import { readdir } from 'node:fs/promises'
import { isAbsolute, resolve } from 'node:path'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import type { Library } from '../library/library.ts'
import type { WatchedFolder } from './contract/folders.ts'
import { contentHash } from '../intake/intake.ts'
import { checkPlaces, scanFolder } from './folder-scan.ts'
import type { IncomingFiles } from './incoming.ts'

/** Changes come in bursts: a folder is looked through once it has been quiet for so long. */
const QUIET_MS = 1000
/** A file that was changed later than this ago may still be written. */
const SETTLED_MS = 2000
/** Not every disk tells of changes (cards, networks): each folder is looked through so often in any case. */
const POLL_MS = 60_000
/** The window hears of progress no more often than this. */
const TELL_MS = 250

/** So many files that are no logs are named to the window. */
const MOST_REFUSED = 100

interface Folder {
  readonly path: string
  watcher: FSWatcher | null
  timer: NodeJS.Timeout | undefined
  /** Stopped by the pilot: not looked through until asked for. */
  stopped: boolean
  running: AbortController | null
  state: WatchedFolder['state']
  progress: { phase: string; done: number } | null
  message: string
}

/** Folders whose logs come into the logbook by themselves; one is looked through at a time. */
export class WatchedFolders {
  readonly #library: Library
  readonly #incoming: IncomingFiles
  readonly #changed: () => void
  readonly #log: (line: string) => void
  readonly #folders = new Map<string, Folder>()
  readonly #poll: NodeJS.Timeout
  #queue: Promise<void> = Promise.resolve()
  readonly #stop = new AbortController()
  #told_ms = 0

  constructor(library: Library, incoming: IncomingFiles, changed: () => void, log: (line: string) => void) {
    this.#library = library
    this.#incoming = incoming
    this.#changed = changed
    this.#log = log
    this.#poll = setInterval(() => {
      for (const folder of this.#folders.values()) this.#look(folder)
    }, POLL_MS)
    this.#poll.unref()
  }

  /** Sees whether logs are still where they were, then takes up the folders that were watched before. */
  start(): void {
    const { signal } = this.#stop
    this.#queue = checkPlaces(this.#library, (path) => contentHash(path, { signal }), signal)
      .catch((error: unknown) => this.#log(error instanceof Error ? (error.stack ?? '') : String(error)))
      .then(() => this.#tell(true))
    for (const path of this.#library.sources.folders()) this.#begin(path)
  }

  list(): WatchedFolder[] {
    return [...this.#folders.values()].map(({ path, state, progress, message }) => {
      const places = this.#library.sources.under(path)
      const refused = places.filter((place) => place.state === 'refused')
      return {
        path,
        state,
        progress,
        message,
        logs: places.filter((place) => place.state === 'here').length,
        refused: refused
          .slice(0, MOST_REFUSED)
          .map(({ path, problem }) => ({ path, problem: problem ?? '' })),
        refusedCount: refused.length,
      }
    })
  }

  /** @throws Problem bad-request, not-a-file or cannot-read */
  async add(path: string): Promise<void> {
    if (!isAbsolute(path)) {
      throw new Problem(
        'bad-request',
        `Give the whole path of the folder, from the root on: "${path}" is a part.`,
      )
    }
    const folder = resolve(path)
    try {
      await readdir(folder)
    } catch (cause) {
      const isFile = (cause as NodeJS.ErrnoException).code === 'ENOTDIR'
      throw isFile
        ? new Problem('not-a-file', `${folder} is a file, not a folder.`, {}, cause)
        : new Problem('cannot-read', `The folder ${folder} can’t be read.`, {}, cause)
    }
    this.#library.sources.addFolder(folder, Date.now())
    this.#begin(folder)
  }

  /** Stops watching; the flights stay in the logbook. */
  remove(path: string): void {
    const folder = this.#folders.get(path)
    this.#library.sources.removeFolder(path)
    this.#folders.delete(path)
    if (folder) this.#end(folder)
    this.#changed()
  }

  /** Ends the look that is under way; the folder is left alone until `lookAgain`. */
  stop(path: string): void {
    const folder = this.#folders.get(path)
    if (!folder) return
    folder.stopped = true
    folder.state = 'stopped'
    folder.progress = null
    folder.running?.abort()
    this.#changed()
  }

  lookAgain(path: string): void {
    const folder = this.#folders.get(path)
    if (!folder) throw new Problem('not-found', 'That folder is no longer watched.')
    folder.stopped = false
    this.#look(folder)
  }

  /** Resolves when nothing touches the library any more. */
  async close(): Promise<void> {
    this.#stop.abort()
    clearInterval(this.#poll)
    for (const folder of this.#folders.values()) this.#end(folder)
    await this.#queue
  }

  #begin(path: string): void {
    if (this.#folders.has(path)) return
    const folder: Folder = {
      path,
      watcher: null,
      timer: undefined,
      stopped: false,
      running: null,
      state: 'waiting',
      progress: null,
      message: '',
    }
    this.#folders.set(path, folder)
    this.#look(folder)
  }

  /** Asks the system to tell of changes. Where it can't, the folder is still looked through by the clock. */
  #hear(folder: Folder): void {
    try {
      folder.watcher = watch(folder.path, { recursive: true, persistent: false })
    } catch (error) {
      this.#deaf(folder, error)
      return
    }
    folder.watcher.on('change', () => this.#soon(folder, QUIET_MS))
    folder.watcher.on('error', (error) => this.#deaf(folder, error))
  }

  #deaf(folder: Folder, error: unknown): void {
    folder.watcher?.close()
    folder.watcher = null
    this.#log(
      `No news of changes in ${folder.path}: ${error instanceof Error ? error.message : String(error)}`,
    )
  }

  #soon(folder: Folder, wait_ms: number): void {
    clearTimeout(folder.timer)
    folder.timer = setTimeout(() => this.#look(folder), wait_ms)
    folder.timer.unref()
  }

  #end(folder: Folder): void {
    clearTimeout(folder.timer)
    folder.watcher?.close()
    folder.running?.abort()
  }

  #look(folder: Folder): void {
    if (folder.stopped || folder.state === 'looking' || folder.state === 'queued') return
    folder.state = 'queued'
    this.#queue = this.#queue
      .then(() => this.#scan(folder))
      .catch((error: unknown) => {
        folder.state = 'failed'
        folder.message =
          'Something unexpected went wrong; the terminal that started the program has the details.'
        this.#log(error instanceof Error ? (error.stack ?? error.message) : String(error))
        this.#changed()
      })
  }

  async #scan(folder: Folder): Promise<void> {
    if (this.#stop.signal.aborted || folder.stopped || !this.#folders.has(folder.path)) return
    const running = new AbortController()
    folder.running = running
    folder.state = 'looking'
    this.#tell(true)
    try {
      const { unsettled, unreadable } = await scanFolder(folder.path, {
        library: this.#library,
        incoming: this.#incoming,
        work: {
          signal: running.signal,
          report: (progress) => {
            folder.progress = progress
            this.#tell(false)
          },
        },
        settledBefore_ms: Date.now() - SETTLED_MS,
        now_ms: Date.now,
        onChange: () => this.#tell(false),
      })
      folder.state = 'watching'
      folder.message =
        unreadable.length === 0
          ? ''
          : `Could not be read: ${unreadable.slice(0, 3).join(', ')}${unreadable.length > 3 ? '…' : ''}`
      if (!folder.watcher) this.#hear(folder)
      if (unsettled > 0) this.#soon(folder, SETTLED_MS)
    } catch (error) {
      if (!isProblem(error)) throw error
      folder.state = error.code === 'cancelled' ? 'stopped' : 'failed'
      folder.message = error.code === 'cancelled' ? '' : error.message
      // A card that is put in again is another folder to the system, though its path is the same.
      folder.watcher?.close()
      folder.watcher = null
    } finally {
      folder.running = null
      folder.progress = null
      this.#tell(true)
    }
  }

  #tell(atOnce: boolean): void {
    const now_ms = performance.now()
    if (this.#stop.signal.aborted || (!atOnce && now_ms - this.#told_ms < TELL_MS)) return
    this.#told_ms = now_ms
    this.#changed()
  }
}
