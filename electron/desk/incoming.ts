import { createHash, randomUUID } from 'node:crypto'
import { mkdirSync, rmSync } from 'node:fs'
import { open, rm } from 'node:fs/promises'
import { basename, extname, join } from 'node:path'
import { faultInAssignments } from '../../workers/columns/check-assignments.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { Inspection, PreambleEntry } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { contentHash, inspectLog, readLog } from '../intake/intake.ts'
import type { FlightFacts, Library } from '../library/library.ts'
import type { Incoming, Progress } from './contract/schemas.ts'

interface Waiting {
  readonly path: string
  /** True for the desk's own copy of a dropped file, which goes when it is indexed or discarded. */
  readonly ours: boolean
  readonly contentHash: string
  readonly inspection: Inspection
}

/** How a long piece of work is watched and stopped. */
export interface Work {
  readonly signal: AbortSignal
  readonly report: (progress: Progress) => void
}

/** Files that were given to the desk and looked at: each is then indexed or discarded. */
export class IncomingFiles {
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

  /** Takes in a dropped file's bytes, then looks at it. Nothing stays behind when that fails or is cancelled. */
  async receive(name: string, bytes_expected: number | null, body: ReadableStream<Uint8Array>, work: Work) {
    const path = join(this.#folder, randomUUID())
    try {
      const hash = await spool(path, body, bytes_expected, work)
      return await this.#look(path, cleanName(name), true, hash, work)
    } catch (error) {
      await rm(path, { force: true })
      throw error
    }
  }

  /** Looks at a file by its path. The file itself is only ever read. */
  async open(path: string, work: Work): Promise<Incoming> {
    const hash = await contentHash(path, {
      signal: work.signal,
      onProgress: (progress) => work.report({ phase: 'Looking at the file', done: progress.done }),
    })
    return this.#look(path, basename(path), false, hash, work)
  }

  /**
   * Reads a waiting file whole and adds it to the library. A file that is already there is not added twice:
   * its flight's id is returned.
   */
  async index(
    incomingId: string,
    chosen: readonly Assignment[] | null,
    work: Work,
    facts: Partial<FlightFacts> = {},
    now_ms = Date.now(),
  ): Promise<number> {
    const waiting = this.#waiting.get(incomingId)
    if (!waiting) throw new Problem('not-found', 'That file is no longer waiting; please add it again.')
    const { inspection } = waiting
    if (chosen) {
      const fault = faultInAssignments(chosen, inspection.columns)
      if (fault) throw new Problem('bad-request', fault)
    }
    const known = this.#library.findByContent(waiting.contentHash)
    if (known !== null) {
      await this.discard(incomingId)
      return known
    }
    const assignments = chosen ?? inspection.assignments
    const log = await readLog(waiting.path, {
      fileName: inspection.fileName,
      columnFile: this.#library.columnFile(waiting.contentHash),
      assignments: [...assignments],
      signal: work.signal,
      onProgress: work.report,
    })
    if (log.contentHash !== waiting.contentHash) {
      await rm(this.#library.columnFile(waiting.contentHash), { force: true })
      throw new Problem(
        'cannot-read',
        `${inspection.fileName} changed while it was read; please add it again.`,
      )
    }
    const meanwhile = this.#library.findByContent(waiting.contentHash)
    if (meanwhile !== null) {
      await this.discard(incomingId)
      return meanwhile
    }
    if (chosen?.some((assignment) => assignment.setBy === 'pilot')) {
      this.#library.memory.remember(inspection.headerKey, chosen, now_ms)
    }
    const [id] = this.#library.add(
      log,
      {
        name: stem(inspection.fileName),
        craft: preambleValue(inspection.preamble, /^(craft|quad|aircraft|vehicle|model)( name)?$/i) ?? '',
        note: '',
        flownAt_ms: flownAt(inspection.preamble, inspection.fileName),
        demo: false,
        sourcePath: waiting.ours ? null : waiting.path,
        settings: null,
        ...facts,
      },
      now_ms,
    )
    await this.discard(incomingId)
    if (id === undefined) throw new Error(`${inspection.fileName} was added without a flight`)
    return id
  }

  async discard(incomingId: string): Promise<void> {
    const waiting = this.#waiting.get(incomingId)
    this.#waiting.delete(incomingId)
    if (waiting?.ours) await rm(waiting.path, { force: true })
  }

  async #look(path: string, fileName: string, ours: boolean, hash: string, work: Work): Promise<Incoming> {
    const inspection = await inspectLog(path, { fileName, signal: work.signal })
    const remembered = this.#library.memory.remembered(inspection.headerKey)
    const usable = remembered && faultInAssignments(remembered, inspection.columns) === null
    const shown: Inspection = usable ? { ...inspection, assignments: remembered } : inspection
    const incomingId = randomUUID()
    this.#waiting.set(incomingId, { path, ours, contentHash: hash, inspection: shown })
    return {
      incomingId,
      inspection: structuredClone(shown) as Incoming['inspection'],
      known: this.#library.findByContent(hash),
    }
  }
}

/** Writes a body to a file as it comes, with back-pressure; returns the SHA-256 of its bytes. */
async function spool(
  path: string,
  body: ReadableStream<Uint8Array>,
  bytes_expected: number | null,
  { signal, report }: Work,
): Promise<string> {
  const hash = createHash('sha256')
  const file = await open(path, 'wx')
  let bytes = 0
  try {
    for await (const chunk of body) {
      if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
      hash.update(chunk)
      await file.write(chunk)
      bytes += chunk.byteLength
      if (bytes_expected) report({ phase: 'Taking the file in', done: Math.min(1, bytes / bytes_expected) })
    }
  } catch (error) {
    if (isDiskFull(error)) throw new Problem('disk', 'The disk is full; nothing was kept.', {}, error)
    if (signal.aborted) throw new Problem('cancelled', 'Cancelled.', {}, error)
    throw error
  } finally {
    await file.close()
  }
  return hash.digest('hex')
}

function isDiskFull(error: unknown): boolean {
  return error instanceof Error && 'code' in error && (error.code === 'ENOSPC' || error.code === 'EDQUOT')
}

/** The last part of a name, without what a file system or a terminal could misread. */
function cleanName(name: string): string {
  const last = name.split(/[/\\]/).at(-1) ?? ''
  return last.replaceAll(/[\u0000-\u001f\u007f]/g, '').slice(0, 200) || 'unnamed'
}

function stem(fileName: string): string {
  const name = fileName.replace(/\.gz$/i, '')
  return name.slice(0, name.length - extname(name).length) || fileName
}

function preambleValue(preamble: readonly PreambleEntry[], name: RegExp): string | null {
  return preamble.find((entry) => name.test(entry.name.trim()))?.value.trim() || null
}

/** When the flight was flown, by a date in the preamble or an ISO date in the file's name (taken as UTC). */
function flownAt(preamble: readonly PreambleEntry[], fileName: string): number | null {
  const written = preambleValue(preamble, /^(date|time|start|started|flown|flown at|recorded|date[ _]time)$/i)
  const iso = /\d{4}-\d{2}-\d{2}([T_ ]\d{2}[:-]\d{2}([:-]\d{2})?)?/
  const text = (written ?? '').match(iso)?.[0] ?? fileName.match(iso)?.[0]
  if (!text) return null
  const [day, time] = text.split(/[T_ ]/)
  const at_ms = Date.parse(`${day}T${time ? time.replaceAll('-', ':') : '00:00'}Z`)
  return Number.isNaN(at_ms) ? null : at_ms
}
