import { randomUUID } from 'node:crypto'
import { mkdirSync, rmSync } from 'node:fs'
import { rm, stat } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { faultInAssignments } from '../../workers/columns/check-assignments.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { readFileFacts } from '../../workers/flight/file-facts.ts'
import type { Inspection } from '../../workers/log/log.ts'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import { contentHash, inspectLog, readLog } from '../intake/intake.ts'
import { settingsBeside } from '../intake/settings-beside.ts'
import { judgeLog } from '../library/judge-log.ts'
import type { FlightFacts, Library } from '../library/library.ts'
import { readHead, sampleOf, type HeadColumns } from './samples.ts'
import { spool } from './spool.ts'
import type { Incoming, Progress, SettingsText } from './contract/schemas.ts'

interface Waiting {
  readonly path: string
  /** The path to tell names by: of a dropped file, only as far as its folder is known. */
  readonly place: string
  /** Size and time of the last change when it was looked at; null for the desk's own copy. */
  readonly stood: { readonly bytes: number; readonly changed_ms: number } | null
  /** True for the desk's own copy of a dropped file, which goes when it is indexed or discarded. */
  readonly ours: boolean
  readonly contentHash: string
  readonly inspection: Inspection
  /** The settings sheet that lies beside it. */
  readonly settings: SettingsText | null
  /** The first rows as columns, once they were asked for. */
  head?: Promise<HeadColumns>
}

/** How a long piece of work is watched and stopped. */
export interface Work {
  readonly signal: AbortSignal
  readonly report: (progress: Progress) => void
}

/** Files that were given to the desk and looked at: each is then indexed or discarded. */
export class IncomingFiles {
  readonly #end = new AbortController()
  readonly #folder: string
  readonly #library: Library
  readonly #waiting = new Map<string, Waiting>()

  constructor(home: string, library: Library) {
    this.#folder = join(home, 'incoming')
    this.#library = library
    // What an earlier run left here was never indexed and belongs to nobody.
    rmSync(this.#folder, { recursive: true, force: true })
    mkdirSync(this.#folder, { recursive: true })
  }

  /**
   * Takes in a dropped file's bytes, then looks at it. The name may be a path below a dropped folder.
   * Nothing stays behind when that fails or is cancelled.
   */
  async receive(
    name: string,
    bytes_expected: number | null,
    body: ReadableStream<Uint8Array<ArrayBuffer>>,
    work: Work,
  ) {
    const path = join(this.#folder, randomUUID())
    try {
      const hash = await spool(path, body, bytes_expected, work)
      return await this.#look(
        { path, place: name, fileName: cleanName(name), ours: true, stood: null },
        hash,
        work,
      )
    } catch (error) {
      await rm(path, { force: true })
      throw error
    }
  }

  /** Looks at a file by its path. The file itself is only ever read. */
  async open(path: string, work: Work): Promise<Incoming> {
    // Before it is read: what is changed meanwhile then shows as changed.
    const stood = await stat(path).then(
      ({ size, mtimeMs }) => ({ bytes: size, changed_ms: mtimeMs }),
      () => null, // contentHash says why it can't be read
    )
    const hash = await contentHash(path, {
      signal: work.signal,
      onProgress: (progress) => work.report({ phase: 'Looking at the file', done: progress.done }),
    })
    const file = { path, place: path, fileName: basename(path), ours: false, stood }
    const incoming = await this.#look(file, hash, work)
    if (incoming.known) this.#seen(path, hash, stood)
    return incoming
  }

  /**
   * Reads a waiting file whole and adds the flights in it to the library. A file that is already there is not added
   * twice: its flights' ids are returned.
   * @param chosen what the pilot settled; null leaves it to the program, which knows more once all has been read
   * @returns the flights' ids, at least one
   */
  async index(
    incomingId: string,
    chosen: readonly Assignment[] | null,
    work: Work,
    facts: Partial<FlightFacts> = {},
    now_ms = Date.now(),
  ): Promise<number[]> {
    const waiting = this.#waiting.get(incomingId)
    if (!waiting) throw new Problem('not-found', 'That file is no longer waiting; please add it again.')
    const { inspection, contentHash } = waiting
    if (chosen) {
      const fault = faultInAssignments(chosen, inspection.columns)
      if (fault) throw new Problem('bad-request', fault)
    }
    if (this.#library.findByContent(contentHash) === null) {
      const remembered = inspection.assignments.some(({ setBy }) => setBy === 'memory')
      const given = chosen ?? (remembered ? inspection.assignments : null)
      const { log, judgement } = await this.#read(waiting, given, work)
      // Asked again, for the same file may have come in by another way meanwhile.
      if (this.#library.findByContent(contentHash) === null) {
        this.#library.together(() => {
          if (chosen?.some((assignment) => assignment.setBy === 'pilot')) {
            this.#library.memory.remember(inspection.headerKey, chosen, now_ms)
          }
          this.#library.add(log, { ...factsOf(waiting), ...facts }, now_ms, judgement)
          if (!waiting.ours) this.#seen(waiting.path, contentHash, waiting.stood)
        })
      }
    } else if (!this.#library.hasSamples(contentHash)) {
      // Known from an archive without samples: they come now, and the flights stay what they are.
      const { log } = await this.#read(waiting, null, work)
      this.#library.readAgain(log)
      if (!waiting.ours) this.#seen(waiting.path, contentHash, waiting.stood)
    }
    await this.discard(incomingId)
    return this.#library.flightsOf(contentHash)
  }

  /** Reads a whole log and looks through it. Nothing stays behind when that fails or is cancelled. */
  async #read(waiting: Waiting, assignments: readonly Assignment[] | null, work: Work) {
    const { fileName } = waiting.inspection
    const columnFile = this.#library.columnFile(waiting.contentHash)
    const hadSamples = this.#library.hasSamples(waiting.contentHash)
    try {
      const log = await readLog(waiting.path, {
        fileName,
        columnFile,
        ...(assignments ? { assignments: [...assignments] } : {}),
        // Nobody else writes to the desk's own copy.
        ...(waiting.ours ? { contentHash: waiting.contentHash } : {}),
        signal: work.signal,
        onProgress: work.report,
      })
      if (log.contentHash !== waiting.contentHash) {
        throw new Problem('cannot-read', `${fileName} changed while it was read; please add it again.`)
      }
      work.report({ phase: 'Looking for flights', done: 1 })
      return { log, judgement: await judgeLog(columnFile, log, work.signal) }
    } catch (error) {
      const known = this.#library.findByContent(waiting.contentHash) !== null
      if (!known || !hadSamples) await rm(columnFile, { force: true })
      throw error
    }
  }

  /**
   * Some rows of a waiting file's column as 64-bit numbers, before anything is stored.
   * @throws Problem as `readHead` and `sampleOf` do, or 'not-found'
   */
  async sample(incomingId: string, column: number): Promise<Uint8Array> {
    const waiting = this.#waiting.get(incomingId)
    if (!waiting) throw new Problem('not-found', 'That file is no longer waiting; please add it again.')
    waiting.head ??= readHead(waiting.path, waiting.inspection, this.#headFile(incomingId), this.#end.signal)
    return sampleOf(await waiting.head, column, null)
  }

  #headFile(incomingId: string): string {
    return join(this.#folder, `${incomingId}.columns`)
  }

  /** The SHA-256 of a waiting file's content. @throws Problem 'not-found' */
  contentOf(incomingId: string): string {
    const waiting = this.#waiting.get(incomingId)
    if (!waiting) throw new Problem('not-found', 'That file is no longer waiting; please add it again.')
    return waiting.contentHash
  }

  /** Ends what is being read of waiting files, so that the program can end. */
  close(): void {
    this.#end.abort()
  }

  async discard(incomingId: string): Promise<void> {
    const waiting = this.#waiting.get(incomingId)
    this.#waiting.delete(incomingId)
    if (waiting?.ours) await rm(waiting.path, { force: true })
    if (!waiting?.head) return
    await waiting.head.catch((error: unknown) => {
      if (!isProblem(error)) throw error
    })
    await rm(this.#headFile(incomingId), { force: true })
  }

  /** Keeps in mind that a log of the logbook lies at this path. */
  #seen(path: string, contentHash: string, stood: Waiting['stood']): void {
    if (!stood) return
    this.#library.sources.see({ path, contentHash, ...stood, state: 'here', problem: null }, Date.now())
  }

  #known(hash: string): Incoming['known'] {
    const id = this.#library.findByContent(hash)
    const [summary] = id === null ? [] : this.#library.listing.summaries([id])
    return summary ? { flightId: summary.id, name: summary.name } : null
  }

  async #look(
    { fileName, ...file }: Pick<Waiting, 'path' | 'place' | 'ours' | 'stood'> & { readonly fileName: string },
    hash: string,
    work: Work,
  ): Promise<Incoming> {
    const inspection = await inspectLog(file.path, { fileName, signal: work.signal })
    const remembered = this.#library.memory.remembered(inspection.headerKey)
    const usable = remembered && faultInAssignments(remembered, inspection.columns) === null
    const shown: Inspection = usable ? { ...inspection, assignments: remembered } : inspection
    const incomingId = randomUUID()
    // Of a dropped file the desk knows no place: the window offers what was dropped with it.
    const settings = file.ours ? null : await settingsBeside(file.path)
    this.#waiting.set(incomingId, { ...file, contentHash: hash, inspection: shown, settings })
    return {
      incomingId,
      inspection: structuredClone(shown) as Incoming['inspection'],
      known: this.#known(hash),
      settings,
    }
  }
}

/** The last part of a name, without what a file system or a terminal could misread. */
function cleanName(name: string): string {
  const last = name.split(/[/\\]/).at(-1) ?? ''
  return last.replaceAll(/[\u0000-\u001f\u007f]/g, '').slice(0, 200) || 'unnamed'
}

/** What the log's place, its name and the lines above its table say of its flights. */
function factsOf({ path, place, ours, inspection, settings }: Waiting): FlightFacts {
  const { title, craft, date } = readFileFacts(place, inspection.preamble)
  return {
    name: title,
    craft: craft ?? '',
    note: '',
    // No time zone is known: the clock's reading is kept as if it were UTC, and shown as such.
    flownAt_ms: date === null ? null : Date.parse(`${date}${date.includes('T') ? '' : 'T00:00:00'}Z`),
    demo: false,
    sourcePath: ours ? null : path,
    settings,
  }
}
