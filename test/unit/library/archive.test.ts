import { existsSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { Library } from '../../../electron/library/library.ts'
import { columnNames, TABLES } from '../../../electron/library/archive/tables.ts'
import { writeArchive } from '../../../electron/library/archive/write-archive.ts'
import { HOSTILE } from '../share/hostile.ts'
import {
  contentsOf,
  entriesOf,
  exported,
  fill,
  folder,
  hashOf,
  imported,
  newLibrary,
  type Given,
} from './archive-support.ts'

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
    await other.library.arrivals.takeBack(merged)
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

test('every table of the library is carried, derived, or said to be of this machine', () => {
  const { home, library } = newLibrary()
  library.close()
  const database = new Database(join(home, 'library.sqlite'))
  const tables = database
    .prepare<[], string>("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    .pluck()
    .all()
  const derived = /^(listing|flight_text.*|moment_text.*|result)$/
  const ofThisMachine = ['source', 'folder', 'left_out', 'removed_flight', 'arriving']
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
