import Database from 'better-sqlite3'
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import * as v from 'valibot'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { listRequestSchema } from '../../../electron/desk/contract/listing.ts'
import { openDatabase } from '../../../electron/library/database.ts'
import { wholeLog } from '../../../electron/library/judgement.ts'
import { Library } from '../../../electron/library/library.ts'
import { assign, FACTS, readLog } from './made.ts'

let home: string
let library: Library
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-library-'))
  library = new Library(home)
})
afterEach(() => {
  library.close()
  rmSync(home, { recursive: true, force: true })
})

const add = (...given: Parameters<Library['add']>): number => library.add(...given)[0]!
const found = (search: string) =>
  library.listing.page(v.parse(listRequestSchema, { search })).flights.map((flight) => flight.id)
const listed = () => library.listing.page(v.parse(listRequestSchema, {})).flights

describe('the library', () => {
  test('gives back what was added, also after it was closed and opened', () => {
    const id = add(readLog('aa'), FACTS, 1000)
    const before = library.get(id)
    library.close()
    library = new Library(home)
    expect(library.get(id)).toEqual(before)
    expect(before).toMatchObject({
      name: 'First',
      craft: 'Lantern',
      rows: 11,
      rate_hz: 10,
      contentHash: 'aa',
    })
    expect(before.assignments.map(({ role }) => role)).toEqual(['time', 'gyro.roll'])
    expect(listed()).toHaveLength(1)
  })

  test('knows a file by its content and takes it only once', () => {
    const id = add(readLog('aa'), FACTS, 1000)
    expect(library.findByContent('aa')).toBe(id)
    expect(library.findByContent('bb')).toBeNull()
    expect(() => add(readLog('aa'), FACTS, 1000)).toThrow(/UNIQUE/)
    expect(listed()).toHaveLength(1)
  })

  test('remembers meanings for files with the same header', () => {
    const id = add(readLog('aa'), FACTS, 1000)
    expect(library.memory.remembered('key')).toBeNull()
    library.assign(
      new Map([[id, wholeLog(readLog('aa')).parts[0]!]]),
      [assign('time', 0), assign('gyro.yaw', 1)],
      2000,
    )
    expect(library.get(id).assignments.map(({ role }) => role)).toEqual(['time', 'gyro.yaw'])
    expect(library.memory.remembered('key')?.[1]).toMatchObject({
      role: 'gyro.yaw',
      setBy: 'memory',
      sure: 'certain',
    })
    expect(library.memory.remembered('another')).toBeNull()
  })

  test('a removed flight comes back as it was, under its id, until the library is opened again', () => {
    const id = add(readLog('aa'), FACTS, 1000)
    writeFileSync(library.columnFile('aa'), 'x')
    library.edit(id, { note: 'windy', settings: { name: 's.txt', text: 'gain = 1', how: 'pasted' } })
    const before = library.get(id)
    library.remove(id, 5000)
    expect(library.sources.isLeftOut('aa')).toBe(true)
    expect(() => library.get(id)).toThrow(/no longer in the logbook/)
    library.restore(id)
    expect(library.get(id)).toEqual(before)
    expect(listed().map((flight) => flight.id)).toEqual([id])
    expect(found('windy')).toEqual([id])
    expect(library.sources.isLeftOut('aa')).toBe(false)
    expect(() => library.restore(id)).toThrow(/no longer be brought back/)
    library.remove(id, 5000)
    library.close()
    library = new Library(home)
    expect(existsSync(library.columnFile('aa'))).toBe(false)
    expect(() => library.restore(id)).toThrow(/no longer be brought back/)
  })

  test('of two flights of one log both come back, in either order', () => {
    const [part] = wholeLog(readLog('aa')).parts
    const judgement = { ...wholeLog(readLog('aa')), parts: [part!, { ...part!, nameSuffix: ', 2' }] }
    const [one, two] = library.add(readLog('aa'), FACTS, 1000, judgement) as [number, number]
    writeFileSync(library.columnFile('aa'), 'x')
    for (const order of [
      [one, two],
      [two, one],
    ]) {
      library.remove(one, 5000)
      library.remove(two, 5000)
      for (const id of order) library.restore(id)
      expect(library.flightsOf('aa')).toEqual([one, two])
    }
  })

  test('a log that was added again is not brought back beside itself', () => {
    const id = add(readLog('aa'), FACTS, 1000)
    writeFileSync(library.columnFile('aa'), 'x')
    library.remove(id, 5000)
    const again = add(readLog('aa'), FACTS, 6000)
    expect(() => library.restore(id)).toThrow(/no longer be brought back/)
    expect(listed().map((flight) => flight.id)).toEqual([again])
  })

  test('removing a flight takes its column file, once that can no longer be undone, and nothing else', () => {
    const id = add(readLog('aa'), FACTS, 1000)
    const other = add({ ...readLog('bb') }, { ...FACTS, name: 'Second' }, 1000)
    writeFileSync(library.columnFile('aa'), 'x')
    writeFileSync(library.columnFile('bb'), 'x')
    library.remove(id, 5000)
    expect(existsSync(library.columnFile('aa'))).toBe(true)
    library.close()
    library = new Library(home)
    expect(existsSync(library.columnFile('aa'))).toBe(false)
    expect(existsSync(library.columnFile('bb'))).toBe(true)
    expect(listed().map((flight) => flight.id)).toEqual([other])
    expect(() => library.get(id)).toThrow(/no longer in the logbook/)
  })

  test('text is kept as text, whatever it looks like', () => {
    const name = `x'); DROP TABLE flight;-- <b>"__proto__"`
    const id = add(readLog('aa'), { ...FACTS, name }, 1000)
    library.edit(id, { note: name })
    expect(library.get(id)).toMatchObject({ name, note: name, craft: 'Lantern' })
  })
})

describe('the database file', () => {
  test('refuses what is not a library, with a sentence', () => {
    library.close()
    const path = join(home, 'library.sqlite')
    for (const name of readdirSync(home)) if (name.startsWith('library')) rmSync(join(home, name))
    writeFileSync(path, 'this is not a database at all, but long enough to be looked at as one'.repeat(20))
    expect(() => new Library(home)).toThrow(/damaged or is not Twopack's/)
    rmSync(path)
    const other = new Database(path)
    other.pragma('user_version = 1')
    other.close()
    expect(() => new Library(home)).toThrow(/not a Twopack library/)
    rmSync(path)
    library = new Library(home)
  })

  test('leaves another program’s database as it is, also one without a version', () => {
    library.close()
    const path = join(home, 'other.sqlite')
    const other = new Database(path)
    other.exec('CREATE TABLE recipe (name TEXT)')
    other.close()
    const before = readFileSync(path)
    expect(() => openDatabase(path)).toThrow(/not a Twopack library/)
    expect(readFileSync(path).equals(before)).toBe(true)
    library = new Library(home)
  })

  test('is opened with every guard that SQLite has', () => {
    const database = openDatabase(join(home, 'guarded.sqlite'))
    const guard = (name: string) => database.pragma(name, { simple: true })
    expect(guard('journal_mode')).toBe('wal')
    expect(guard('synchronous')).toBe(2) // FULL
    expect(guard('trusted_schema')).toBe(0)
    expect(guard('cell_size_check')).toBe(1)
    expect(guard('foreign_keys')).toBe(1)
    expect(guard('application_id')).toBe(0x5477506b)
    database.close()
  })

  test('refuses a library of a newer version rather than guess', () => {
    library.close()
    const database = new Database(join(home, 'library.sqlite'))
    database.pragma('user_version = 99')
    database.close()
    expect(() => new Library(home)).toThrow(/newer Twopack/)
    for (const name of readdirSync(home)) if (name.startsWith('library')) rmSync(join(home, name))
    library = new Library(home)
  })
})

test('a full disk is told with a sentence, and nothing of the change stays', () => {
  add(readLog('aa'), FACTS, 1000)
  // Stands in for a full disk: the database may not grow any more.
  const limited = new Database(join(home, 'library.sqlite'))
  const pages = limited.pragma('page_count', { simple: true }) as number
  limited.close()
  library.close()
  library = new Library(home, pages)
  const long = 'x'.repeat(1_000_000)
  expect(() => add({ ...readLog('bb'), fileName: long }, FACTS, 1000)).toThrow(/disk is full/)
  expect(listed()).toHaveLength(1)
  expect(library.findByContent('bb')).toBeNull()
})
