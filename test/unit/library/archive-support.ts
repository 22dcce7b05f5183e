/** Libraries that are exported and brought in, for the tests of archives. Each test has a folder of its own. */
import { createHash, randomUUID } from 'node:crypto'
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach } from 'vitest'
import { openPromise } from 'yauzl'
import type { Work } from '../../../electron/desk/incoming.ts'
import { Library } from '../../../electron/library/library.ts'
import { stageArchive } from '../../../electron/library/archive/read-archive.ts'
import { writeArchive } from '../../../electron/library/archive/write-archive.ts'
import { change as aChange } from '../changes/made.ts'
import { FACTS, readLog } from './made.ts'

export let folder: string
beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'twopack-archive-'))))
afterEach(() => rmSync(folder, { recursive: true, force: true }))

export const work = () => ({ signal: new AbortController().signal, report: () => undefined })
export const hashOf = (text: string) => createHash('sha256').update(text).digest('hex')

export const newLibrary = () => {
  const home = join(folder, randomUUID())
  mkdirSync(home)
  return { home, library: new Library(home) }
}

export async function exported(library: Library, withColumns = true): Promise<string> {
  const path = join(folder, `${randomUUID()}.zip`)
  const order = {
    database: library.databasePath,
    columnFile: (hash: string) => library.columnFile(hash),
    withColumns,
    path,
    now_ms: 0,
  }
  await writeArchive(order, work())
  return path
}

export const imported = async (library: Library, path: string, how: Work = work()) =>
  library.arrivals.bringIn(await stageArchive(path, join(folder, randomUUID()), how), how)

export async function entriesOf(path: string): Promise<Map<string, Buffer>> {
  const zip = await openPromise(path, { autoClose: false })
  const entries = new Map<string, Buffer>()
  for await (const entry of zip.eachEntry()) {
    const parts: Buffer[] = []
    for await (const part of await zip.openReadStreamPromise(entry)) parts.push(part as Buffer)
    entries.set(entry.fileName, Buffer.concat(parts))
  }
  zip.close()
  return entries
}

/** Everything that an archive carries, as text. */
export async function contentsOf(library: Library): Promise<Record<string, string>> {
  const entries = await entriesOf(await exported(library))
  entries.delete('manifest.json')
  return Object.fromEntries([...entries].map(([name, bytes]) => [name, bytes.toString('latin1')]))
}

export interface Given {
  readonly logs: readonly {
    readonly seed: number
    readonly words: string
    readonly cut: boolean
    readonly samples: boolean
  }[]
  readonly moments: readonly { readonly note: string; readonly log: number }[]
  readonly changes: readonly string[]
  readonly kept: readonly string[]
}

/** A library with all that one can hold. */
export function fill(library: Library, { logs, moments, changes, kept }: Given): void {
  logs.forEach(({ seed, words, cut, samples }) => {
    const hash = hashOf(String(seed))
    if (library.findByContent(hash) !== null) return
    const settings = words === '' ? null : { name: words, text: words }
    const [id] = library.add(
      readLog(hash),
      {
        ...FACTS,
        name: words,
        craft: words,
        note: words,
        flownAt_ms: seed,
        settings,
        sourcePath: `/home/ann/${seed}.csv`,
      },
      seed,
    )
    if (cut && id !== undefined) {
      const clock = readLog(hash).clock
      const part = {
        nameSuffix: '',
        rows: { from: 2, to: 7 },
        span: { t0_s: 0.2, t1_s: 0.6 },
        clock,
        notices: [],
        activity: null,
      }
      library.addPart(id, part)
    }
    if (samples) writeFileSync(library.columnFile(hash), Buffer.alloc(132, seed % 251))
  })
  moments.forEach(({ note, log }, index) => {
    // A moment is marked in a log that is there.
    if (library.findByContent(hashOf(String(log))) === null) return
    library.moments.add(
      {
        id: `moment-${index}-${hashOf(note).slice(0, 8)}`,
        places: [
          {
            side: 'a',
            contentHash: hashOf(String(log)),
            t0_s: 0.25,
            t1_s: index % 2 ? null : 0.5,
            marked: true,
          },
        ],
        tags: ['wash'],
        note: note.slice(0, 1000),
        stars: index % 6,
        flyAgain: index % 2 === 0,
        whatToFly: '',
      },
      1000 + index,
    )
  })
  changes.forEach((what, index) => library.changes.put(aChange(index + 1, { what })))
  kept.forEach((value, index) => library.memory.keep(`key ${index}`, JSON.stringify(value)))
}
