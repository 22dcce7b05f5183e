import { randomUUID } from 'node:crypto'
import { createReadStream, existsSync, mkdirSync, rmSync } from 'node:fs'
import { open, rm, stat, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { Readable } from 'node:stream'
import { Problem } from '../../workers/log/problems.ts'
import { stageArchive } from '../library/archive/read-archive.ts'
import type { Merged } from '../library/archive/merge.ts'
import { writeArchive } from '../library/archive/write-archive.ts'
import type { Library } from '../library/library.ts'
import { MeasureThread } from '../library/measures/measure-thread.ts'
import { measuresTable } from '../library/measures/measures-table.ts'
import type { BroughtIn, MadeFile } from './contract/archives.ts'
import type { Work } from './incoming.ts'

interface Made {
  readonly path: string
  readonly fileName: string
  readonly bytes: number
}

interface Import {
  readonly path: string
  merged: Merged | null
}

/** Files made of the whole library, waiting to be fetched, and archives on their way in. */
export class Archives {
  readonly #folder: string
  readonly #library: Library
  readonly #made = new Map<string, Made>()
  readonly #imports = new Map<string, Import>()
  readonly #stop = new AbortController()
  /** What is brought in or taken back goes one after the other. */
  #turn: Promise<unknown> = Promise.resolve()

  constructor(home: string, library: Library) {
    this.#folder = join(home, 'archives')
    this.#library = library
    this.#clear()
  }

  /** Writes the whole library into a file. @throws Problem as writeArchive does */
  async export(samples: boolean, work: Work, now_ms = Date.now()): Promise<MadeFile> {
    const day = new Date(now_ms).toISOString().slice(0, 10)
    return this.#make(`twopack-library-${day}.zip`, (path) =>
      writeArchive(
        {
          database: this.#library.databasePath,
          columnFile: (hash) => this.#library.columnFile(hash),
          withColumns: samples,
          path,
          now_ms,
        },
        work,
      ),
    )
  }

  /** Writes the measures of every flight into a file. @throws Problem as measuresTable does */
  async measures(work: Work): Promise<MadeFile> {
    const thread = new MeasureThread()
    try {
      return await this.#make('twopack-measures.csv', async (path) => {
        const measure = (order: Parameters<MeasureThread['measure']>[0]) => thread.measure(order, work.signal)
        await writeFile(path, await measuresTable(this.#library, measure, work, Date.now), { flag: 'wx' })
      })
    } finally {
      await thread.close()
    }
  }

  /** The download of a made file; 404 when it is not there any more. */
  fetch(exportId: string): Response {
    const made = this.#made.get(exportId)
    if (!made || !existsSync(made.path)) return new Response('That file is no longer there.', { status: 404 })
    const body = Readable.toWeb(createReadStream(made.path)) as ReadableStream<Uint8Array>
    return new Response(body, {
      headers: {
        'content-type': 'application/octet-stream',
        'content-length': String(made.bytes),
        'content-disposition': `attachment; filename="${made.fileName}"`,
      },
    })
  }

  /** Takes an archive's bytes in, checks all of it, and adds what is new. @throws Problem as stageArchive does */
  async receive(body: ReadableStream<Uint8Array>, work: Work): Promise<BroughtIn> {
    const importId = randomUUID()
    const path = join(this.#folder, `${importId}.zip`)
    try {
      await spool(path, body, work)
      // Kept until the program ends, so that it can be brought in again after it was taken back.
      this.#imports.set(importId, { path, merged: null })
      return await this.bringIn(importId, work)
    } catch (error) {
      this.#imports.delete(importId)
      await rm(path, { force: true })
      throw error
    }
  }

  /** Brings in an archive that lies here. @throws Problem not-found, or as stageArchive and Arrivals do */
  bringIn(importId: string, work: Work): Promise<BroughtIn> {
    const signal = AbortSignal.any([work.signal, this.#stop.signal])
    return this.#inTurn(() => this.#bringIn(importId, { ...work, signal }))
  }

  async #bringIn(importId: string, work: Work): Promise<BroughtIn> {
    const known = this.#imports.get(importId)
    if (!known || known.merged)
      throw new Problem('not-found', 'That archive is no longer there; please choose it again.')
    const folder = join(this.#folder, `${importId}.unpacked`)
    try {
      const staged = await stageArchive(known.path, folder, work)
      const merged = await this.#library.arrivals.bringIn(staged, work)
      known.merged = merged
      return this.#told(importId, merged)
    } finally {
      await rm(folder, { recursive: true, force: true })
    }
  }

  /** Takes back what an archive brought in. @throws Problem not-found */
  takeBack(importId: string): Promise<void> {
    return this.#inTurn(async () => {
      const known = this.#imports.get(importId)
      if (!known?.merged)
        throw new Problem('not-found', 'That archive was not brought in, or was taken back already.')
      const { merged } = known
      known.merged = null
      await this.#library.arrivals.takeBack(merged)
    })
  }

  /** Cancels what is under way; resolves when nothing touches the library any more. */
  async close(): Promise<void> {
    this.#stop.abort()
    await this.#turn
    rmSync(this.#folder, { recursive: true, force: true })
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.#turn.then(work)
    // A failure is the caller's to tell; the next one's turn comes all the same.
    this.#turn = turn.catch(() => undefined)
    return turn
  }

  #told(importId: string, { added, known, keys }: Merged): BroughtIn {
    const counts = (table: string) => ({ added: added[table] ?? 0, known: known[table] ?? 0 })
    const withoutSamples = keys.filter(
      ({ what, key: [hash] }) => what === 'file' && !this.#library.hasSamples(hash as string),
    )
    return {
      importId,
      flights: counts('flight'),
      moments: counts('moment'),
      changes: counts('change'),
      withoutSamples: withoutSamples.length,
    }
  }

  /** What was made before goes: it has been fetched, or nobody wants it. */
  async #make(fileName: string, write: (path: string) => Promise<void>): Promise<MadeFile> {
    for (const [id, { path }] of this.#made) {
      await rm(path, { force: true })
      this.#made.delete(id)
    }
    const exportId = randomUUID()
    const path = join(this.#folder, exportId)
    try {
      await write(path)
    } catch (error) {
      await rm(path, { force: true })
      throw error
    }
    const { size } = await stat(path)
    this.#made.set(exportId, { path, fileName, bytes: size })
    return { exportId, fileName, bytes: size }
  }

  #clear(): void {
    // What an earlier run left here belongs to nobody.
    rmSync(this.#folder, { recursive: true, force: true })
    mkdirSync(this.#folder, { recursive: true })
  }
}

async function spool(
  path: string,
  body: ReadableStream<Uint8Array>,
  { signal, report }: Work,
): Promise<void> {
  const file = await open(path, 'wx')
  try {
    report({ phase: 'Taking the archive in', done: 0 })
    for await (const chunk of body) {
      if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
      await file.write(chunk)
    }
  } catch (error) {
    const code = error instanceof Error && 'code' in error ? error.code : null
    if (code === 'ENOSPC' || code === 'EDQUOT')
      throw new Problem('disk', 'The disk is full; nothing was changed.', {}, error)
    if (signal.aborted) throw new Problem('cancelled', 'Cancelled.', {}, error)
    throw error
  } finally {
    await file.close()
  }
}
