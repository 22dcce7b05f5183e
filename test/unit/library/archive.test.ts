import { createHash, randomUUID } from 'node:crypto'
import {
  createWriteStream,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pipeline } from 'node:stream/promises'
import Database from 'better-sqlite3'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { openPromise } from 'yauzl'
import { ZipFile } from 'yazl'
import { Library } from '../../../electron/library/library.ts'
import { stageArchive } from '../../../electron/library/archive/read-archive.ts'
import { columnNames, TABLES } from '../../../electron/library/archive/tables.ts'
import { writeArchive } from '../../../electron/library/archive/write-archive.ts'
import { isProblem } from '../../../workers/log/problems.ts'
import { change as aChange } from '../changes/made.ts'
import { HOSTILE } from '../share/hostile.ts'
import { FACTS, readLog } from './made.ts'

let folder: string
beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'twopack-archive-'))))
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const work = () => ({ signal: new AbortController().signal, report: () => undefined })
const hashOf = (text: string) => createHash('sha256').update(text).digest('hex')

const newLibrary = () => {
  const home = join(folder, randomUUID())
  mkdirSync(home)
  return { home, library: new Library(home) }
}

async function exported(library: Library, withColumns = true): Promise<string> {
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

const imported = async (library: Library, path: string) =>
  library.merge(await stageArchive(path, join(folder, randomUUID()), work()))

async function entriesOf(path: string): Promise<Map<string, Buffer>> {
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
async function contentsOf(library: Library): Promise<Record<string, string>> {
  const entries = await entriesOf(await exported(library))
  entries.delete('manifest.json')
  return Object.fromEntries([...entries].map(([name, bytes]) => [name, bytes.toString('latin1')]))
}

interface Given {
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
function fill(library: Library, { logs, moments, changes, kept }: Given): void {
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

const words = fc.oneof(
  fc.string({ maxLength: 30 }),
  fc.constantFrom(...HOSTILE.map(({ text }) => text.toWellFormed())),
)
const given: fc.Arbitrary<Given> = fc.record({
  logs: fc.array(fc.record({ seed: fc.nat(6), words, cut: fc.boolean(), samples: fc.boolean() }), {
    maxLength: 6,
  }),
  moments: fc.array(fc.record({ note: words, log: fc.nat(6) }), { maxLength: 4 }),
  changes: fc.array(words, { maxLength: 3 }),
  kept: fc.array(words, { maxLength: 3 }),
})

describe('a library taken elsewhere', () => {
  test('comes back equal: exported, brought into an empty library, exported again', async () => {
    await fc.assert(
      fc.asyncProperty(given, async (what) => {
        const one = newLibrary()
        const other = newLibrary()
        try {
          fill(one.library, what)
          // Numbers have gaps, as after flights that were taken out.
          const first = one.library.findByContent(hashOf(String(what.logs[0]?.seed)))
          if (first !== null && what.logs.length > 2) one.library.remove(first, 1)
          await imported(other.library, await exported(one.library))
          const contents = await contentsOf(one.library)
          expect(await contentsOf(other.library)).toEqual(contents)
          // The lists and the search follow.
          const list = {
            search: '',
            craft: null,
            health: 'any',
            group: 'none',
            sort: 'flown',
            descending: false,
          } as const
          const page = (library: Library) =>
            library.listing
              .page({ ...list, offset: 0, limit: 100, also: [] })
              .flights.map(({ name, rows }) => [name, rows])
          expect(page(other.library)).toEqual(page(one.library))
          // Brought in again, nothing is added twice.
          const again = await imported(other.library, await exported(one.library))
          expect(Object.values(again.added).every((count) => count === 0)).toBe(true)
          expect(await contentsOf(other.library)).toEqual(contents)
        } finally {
          one.library.close()
          other.library.close()
        }
      }),
      { numRuns: 25 },
    )
  }, 120_000)

  const SOME: Given = {
    logs: [
      { seed: 1, words: 'one', cut: true, samples: true },
      { seed: 2, words: 'two', cut: false, samples: true },
    ],
    moments: [{ note: 'wash', log: 1 }],
    changes: ['more D'],
    kept: ['x'],
  }

  test('no path of this machine goes along', async () => {
    const { library } = newLibrary()
    fill(library, SOME)
    library.sources.addFolder('/home/ann/logs', 1)
    const bytes = Object.values(await contentsOf(library)).join('\n')
    expect(bytes).not.toContain('/home/ann')
    library.close()
  })

  test('what the other library has already stays as the pilot has it there', async () => {
    const one = newLibrary()
    const other = newLibrary()
    fill(one.library, SOME)
    fill(other.library, {
      logs: [{ seed: 1, words: 'mine', cut: false, samples: false }],
      moments: [],
      changes: [],
      kept: ['mine'],
    })
    const merged = await imported(other.library, await exported(one.library))
    expect(merged.added).toMatchObject({ file: 1, flight: 2, moment: 1, change: 1, kept: 0 })
    expect(merged.known).toMatchObject({ file: 1, flight: 1, kept: 1 })
    expect(other.library.get(other.library.flightsOf(hashOf('1'))[0]!).name).toBe('mine')
    expect(other.library.memory.kept('key 0')).toBe('"mine"')
    // Samples that were lacking are there now.
    expect(existsSync(other.library.columnFile(hashOf('1')))).toBe(true)
    one.library.close()
    other.library.close()
  })

  test('taken back, the library is as it was before', async () => {
    const one = newLibrary()
    const other = newLibrary()
    fill(one.library, SOME)
    fill(other.library, {
      ...SOME,
      logs: [{ seed: 3, words: 'three', cut: false, samples: true }],
      moments: [],
    })
    const before = await contentsOf(other.library)
    const merged = await imported(other.library, await exported(one.library))
    expect(await contentsOf(other.library)).not.toEqual(before)
    other.library.takeBackMerge(merged)
    expect(await contentsOf(other.library)).toEqual(before)
    one.library.close()
    other.library.close()
  })

  test('samples may stay at home', async () => {
    const { library } = newLibrary()
    fill(library, SOME)
    const entries = await entriesOf(await exported(library, false))
    expect([...entries.keys()].filter((name) => name.startsWith('columns/'))).toEqual([])
    library.close()
  })

  test('cancelled, nothing is left', async () => {
    const { library } = newLibrary()
    fill(library, SOME)
    const path = join(folder, 'cancelled.zip')
    const order = {
      database: library.databasePath,
      columnFile: (hash: string) => library.columnFile(hash),
      withColumns: true,
      path,
      now_ms: 0,
    }
    const stop = new AbortController()
    const running = writeArchive(order, { signal: stop.signal, report: () => stop.abort() })
    await expect(running).rejects.toMatchObject({ code: 'cancelled' })
    library.close()
  })
})

describe('an archive that is not what it says', () => {
  /** The entries of an honest archive, changed, as an archive again. */
  async function forged(change: (entries: Map<string, Buffer>) => void, fixManifest = true): Promise<string> {
    const { library } = newLibrary()
    fill(library, {
      logs: [{ seed: 1, words: 'one', cut: true, samples: true }],
      moments: [{ note: 'n', log: 1 }],
      changes: [],
      kept: ['x'],
    })
    const entries = await entriesOf(await exported(library))
    library.close()
    change(entries)
    if (fixManifest) {
      const manifest = JSON.parse(entries.get('manifest.json')!.toString())
      manifest.entries = [...entries]
        .filter(([name]) => name !== 'manifest.json')
        .map(([name, bytes]) => ({
          name,
          bytes: bytes.length,
          sha256: createHash('sha256').update(bytes).digest('hex'),
        }))
      entries.set('manifest.json', Buffer.from(JSON.stringify(manifest)))
    }
    return zipped(entries)
  }

  async function zipped(entries: ReadonlyMap<string, Buffer>): Promise<string> {
    const zip = new ZipFile()
    const path = join(folder, `${randomUUID()}.zip`)
    const written = pipeline(zip.outputStream, createWriteStream(path))
    for (const [name, bytes] of entries) zip.addBuffer(bytes, name)
    zip.end()
    await written
    return path
  }

  const TABLE = 'tables/flight.jsonl'
  const edit = (name: string, from: string | RegExp, to: string) => (entries: Map<string, Buffer>) => {
    const text = entries.get(name)!.toString()
    expect(text).toMatch(from)
    entries.set(name, Buffer.from(text.replace(from, to)))
  }

  /** Refused in one sentence, and nothing in the library or its folder has changed. */
  async function refused(path: string, sentence: RegExp): Promise<void> {
    const { home, library } = newLibrary()
    const before = [await contentsOf(library), readdirSync(join(home, 'columns'))]
    const problem = await imported(library, path).then(
      () => null,
      (error: unknown) => error,
    )
    expect(isProblem(problem), String(problem)).toBe(true)
    const { message } = problem as Error
    expect(message).toMatch(sentence)
    expect(message.split('\n')).toHaveLength(1)
    expect([await contentsOf(library), readdirSync(join(home, 'columns'))]).toEqual(before)
    library.close()
  }

  test('honest, it is taken', async () => {
    const { library } = newLibrary()
    expect((await imported(library, await forged(() => undefined))).added).toMatchObject({ flight: 2 })
    library.close()
  })

  test('a wrong checksum', async () => {
    const wrong = edit(TABLE, /one/, 'eno')
    await refused(await forged(wrong, false), /checksum in it does not fit/)
  })

  test('cut short, or no archive at all', async () => {
    const path = await forged(() => undefined)
    const bytes = readFileSync(path)
    for (const length of [0, 10, bytes.length >> 1, bytes.length - 30]) {
      const cut = join(folder, `cut-${length}.zip`)
      writeFileSync(cut, bytes.subarray(0, length))
      await refused(cut, /no whole archive/)
    }
    writeFileSync(join(folder, 'text.zip'), 'hello')
    await refused(join(folder, 'text.zip'), /no whole archive/)
  })

  test('a bit turned anywhere in it', async () => {
    const path = await forged(() => undefined)
    const bytes = readFileSync(path)
    for (let at = 40; at < bytes.length; at += Math.ceil(bytes.length / 12)) {
      const turned = Buffer.from(bytes)
      turned[at] = turned[at]! ^ 0x10
      const other = join(folder, `turned-${at}.zip`)
      writeFileSync(other, turned)
      const { library } = newLibrary()
      const outcome = await imported(library, other).then(
        // A date or an attribute in a header may have turned, which says nothing about the contents.
        async () => Object.keys(await contentsOf(library)).length,
        (error: unknown) => (isProblem(error) ? 'refused' : error),
      )
      expect(outcome === 'refused' || typeof outcome === 'number', String(outcome)).toBe(true)
      library.close()
    }
  })

  test('a newer version', async () => {
    await refused(
      await forged(edit('manifest.json', '"format": 1', '"format": 2')),
      /newer Twopack; please update/,
    )
  })

  test('names that lead elsewhere', async () => {
    for (const name of [
      'columns/../../evil',
      'tables/evil.sh',
      '.evil',
      `columns/${'g'.repeat(64)}.columns`,
    ]) {
      const entries = (held: Map<string, Buffer>): void =>
        void held.set('tables/evil.jsonl', Buffer.from('x'))
      const path = await forged(entries)
      // The packer refuses such names itself: they are written over ones of the same length.
      const bytes = readFileSync(path).toString('latin1')
      const same = name.padEnd('tables/evil.jsonl'.length, 'x').slice(0, 'tables/evil.jsonl'.length)
      writeFileSync(path, Buffer.from(bytes.replaceAll('tables/evil.jsonl', same), 'latin1'))
      await refused(path, /no whole archive/)
    }
    const content = edit('tables/file.jsonl', /[0-9a-f]{64}/, '../../../../evil')
    await refused(await forged(content), /row of its table "file" does not fit/)
  })

  test('entries that its list does not name, or that are missing', async () => {
    await refused(
      await forged((held) => void held.set('columns/' + 'a'.repeat(64) + '.columns', Buffer.alloc(9))),
      /samples of a log that it does not know/,
    )
    await refused(await forged((held) => void held.delete(TABLE)), /table "flight" is missing/)
    await refused(
      await forged((held) => void held.delete('manifest.json'), false),
      /list of contents is missing/,
    )
  })

  test('rows that belong to nothing, of another kind, or too few', async () => {
    await refused(await forged(edit('tables/assignment.jsonl', /^\[1,/, '[77,')), /belongs to nothing/)
    await refused(await forged(edit(TABLE, /"one"/, '5')), /row of its table "flight" does not fit/)
    await refused(
      await forged(edit('tables/kept.jsonl', /"\\"x\\""/, '"not json"')),
      /row of its table "kept" does not fit/,
    )
    await refused(await forged(edit('tables/moment.jsonl', /\n$/, '')), /cut short/)
    await refused(
      await forged((held) => void held.set(`columns/${hashOf('1')}.columns`, Buffer.alloc(5))),
      /samples of a log are too few/,
    )
  })

  test('one that would fill the disk', async () => {
    // 100 MB of zeros pack to some 100 kB.
    const bomb = (held: Map<string, Buffer>): void =>
      void held.set(`columns/${hashOf('1')}.columns`, Buffer.alloc(100 << 20))
    await refused(await forged(bomb), /more than 200 times its size/)
  }, 60_000)
})

test('every table of the library is carried, derived, or said to be of this machine', () => {
  const { home, library } = newLibrary()
  library.close()
  const database = new Database(join(home, 'library.sqlite'))
  const tables = database
    .prepare<[], string>("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    .pluck()
    .all()
  const derived = /^(listing|flight_text.*|moment_text.*|result)$/
  const ofThisMachine = ['source', 'folder', 'left_out', 'removed_flight']
  const carried = TABLES.map(({ name }) => name)
  expect(
    tables.filter((name) => !carried.includes(name) && !derived.test(name) && !ofThisMachine.includes(name)),
  ).toEqual([])
  // Columns too: one that is added to a carried table is carried, or its omission is meant.
  const omitted: Record<string, string[]> = { moment_place: ['flight_id', 'flight_name', 'craft'] }
  for (const table of TABLES) {
    const columns = database
      .prepare<[string], string>('SELECT name FROM pragma_table_info(?)')
      .pluck()
      .all(table.name)
    expect(columnNames(table).sort()).toEqual(
      columns.filter((name) => !omitted[table.name]?.includes(name)).sort(),
    )
  }
  database.close()
})
