/** Searching, sorting, grouping and paging agree with doing the same by hand on plain objects. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import * as v from 'valibot'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { listRequestSchema, type ListRequest } from '../../../electron/desk/contract/listing.ts'
import { Library } from '../../../electron/library/library.ts'
import { matchExpression } from '../../../electron/library/search-words.ts'
import type { Notice } from '../../../workers/log/log.ts'
import { FACTS, readLog } from './made.ts'

let home: string
let library: Library
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-listing-'))
  library = new Library(home)
})
afterEach(() => {
  library.close()
  rmSync(home, { recursive: true, force: true })
})

const asked = (request: v.InferInput<typeof listRequestSchema> = {}): ListRequest =>
  v.parse(listRequestSchema, request)
const page = (request: v.InferInput<typeof listRequestSchema> = {}) => library.listing.page(asked(request))
const namesIn = (request: v.InferInput<typeof listRequestSchema>) =>
  page(request).flights.map(({ name }) => name)

interface Made {
  readonly name: string
  readonly craft?: string
  readonly note?: string
  readonly day?: string
  readonly duration_s?: number
  readonly rate_hz?: number
  readonly cautions?: number
  readonly settings?: string
  readonly fileName?: string
}

function put(made: Made): number {
  const log = readLog(made.name)
  const caution: Notice = { level: 'caution', text: 'Something to know.' }
  const [id] = library.add(
    {
      ...log,
      fileName: made.fileName ?? 'first.csv',
      notices: [
        { level: 'info', text: 'Nothing.' },
        ...Array.from({ length: made.cautions ?? 0 }, () => caution),
      ],
      clock: {
        ...log.clock,
        duration_s: made.duration_s ?? 60,
        effectiveRate_hz: made.rate_hz ?? 1000,
      },
    },
    {
      ...FACTS,
      name: made.name,
      craft: made.craft ?? '',
      note: made.note ?? '',
      flownAt_ms: made.day ? Date.parse(`${made.day}Z`) : null,
      settings: made.settings ? { name: 'sheet.txt', text: made.settings } : null,
    },
    Date.parse('2026-01-01T00:00Z'),
  )
  return id!
}

const FLIGHTS: Made[] = [
  { name: 'b1', craft: 'lantern', day: '2025-05-02T10:00', duration_s: 30, rate_hz: 500, cautions: 2 },
  { name: 'a1', craft: 'Lantern', day: '2025-05-01T09:00', duration_s: 90, rate_hz: 2000 },
  { name: 'A2', craft: 'Lantern', day: '2025-05-01T11:00', duration_s: 10, rate_hz: 100, cautions: 1 },
  { name: 'c1', craft: '', day: '2025-06-01T00:00', duration_s: 61, rate_hz: NaN },
  { name: 'd1', craft: 'Moth', duration_s: 62, rate_hz: 3000 },
]

describe('the listing', () => {
  test('stands by craft and day; what has no craft or day stands last', () => {
    for (const flight of FLIGHTS) put(flight)
    const { flights, groups, total, all, crafts } = page()
    expect(flights.map(({ name }) => name)).toEqual(['a1', 'A2', 'b1', 'd1', 'c1'])
    expect(groups).toEqual([
      { craft: 'Lantern', day: '2025-05-01', count: 2 },
      { craft: 'lantern', day: '2025-05-02', count: 1 },
      { craft: 'Moth', day: '', count: 1 },
      { craft: '', day: '2025-06-01', count: 1 },
    ])
    expect([total, all]).toEqual([5, 5])
    expect(crafts.map(({ craft }) => craft)).toEqual(['Lantern', 'lantern', 'Moth', ''])
  })

  test('sorts by every column, either way', () => {
    for (const flight of FLIGHTS) put(flight)
    const by = (sort: ListRequest['sort'], descending = false) => namesIn({ group: 'none', sort, descending })
    expect(by('name')).toEqual(['a1', 'A2', 'b1', 'c1', 'd1'])
    expect(by('length')).toEqual(['A2', 'b1', 'c1', 'd1', 'a1'])
    expect(by('length', true)).toEqual(['a1', 'd1', 'c1', 'b1', 'A2'])
    expect(by('rate', true)).toEqual(['d1', 'a1', 'b1', 'A2', 'c1'])
    expect(by('health', true).slice(0, 2)).toEqual(['b1', 'A2'])
    // What says no day is placed by when it was indexed.
    expect(by('flown')).toEqual(['a1', 'A2', 'b1', 'c1', 'd1'])
    expect(by('flown', true)).toEqual(['d1', 'c1', 'b1', 'A2', 'a1'])
    expect(namesIn({ group: 'craft', sort: 'length' }).slice(0, 2)).toEqual(['A2', 'a1'])
    expect(page({ group: 'day', descending: true }).groups.map(({ day }) => day)).toEqual([
      '2025-06-01',
      '2025-05-02',
      '2025-05-01',
      '',
    ])
  })

  test('pages put together are the whole, and groups count all of it', () => {
    for (let index = 0; index < 137; index++) {
      put({
        name: `n${index}`,
        craft: `craft ${index % 7}`,
        day: `2025-03-${String((index % 28) + 1).padStart(2, '0')}T08:00`,
      })
    }
    for (const group of ['none', 'craft', 'day', 'craft-day'] as const) {
      const whole = namesIn({ group, sort: 'name', limit: 500 })
      const parts = [0, 50, 100].flatMap((offset) => namesIn({ group, sort: 'name', limit: 50, offset }))
      expect(parts).toEqual(whole)
      expect(new Set(whole).size).toBe(137)
      const { groups } = page({ group })
      if (group !== 'none') expect(groups.reduce((sum, { count }) => sum + count, 0)).toBe(137)
    }
  })

  test('filters by craft and by health', () => {
    for (const flight of FLIGHTS) put(flight)
    expect(namesIn({ craft: 'Lantern' })).toEqual(['a1', 'A2'])
    expect(namesIn({ craft: '' })).toEqual(['c1'])
    expect(namesIn({ health: 'noted' })).toEqual(['A2', 'b1'])
    expect(page({ health: 'clean' }).total).toBe(3)
    expect(page({ health: 'clean', craft: 'Lantern' })).toMatchObject({ total: 1, all: 5 })
  })

  test('the flight before is of the same craft and the nearest in time', () => {
    const ids = FLIGHTS.map(put)
    expect(library.listing.previous(ids[2]!)?.name).toBe('a1')
    expect(library.listing.previous(ids[1]!)).toBeNull()
    expect(library.listing.previous(ids[0]!)).toBeNull()
  })

  test('a clock that stands still is listed without a rate', () => {
    put({ name: 'c1', rate_hz: NaN })
    expect(page().flights[0]?.rate_hz).toBeNaN()
    expect(library.get(1).clock.effectiveRate_hz).toBeNaN()
  })
})

describe('the search', () => {
  beforeEach(() => {
    put({
      name: 'gains-i0-d4',
      craft: 'Lantern',
      note: 'Über dem Feld; bent prop',
      settings: 'pitch rate 1.4\nnotch = 210',
    })
    put({ name: 'second', craft: 'Moth', fileName: '2025-05-02_LOG00012.csv' })
  })
  const found = (search: string) => namesIn({ search })

  test('finds the beginnings of words in names, crafts, notes, file names and settings', () => {
    for (const typed of ['gai', 'GAINS', 'i0-d4', 'lan bent', 'uber', 'notch 210', 'prop lantern']) {
      expect(found(typed), typed).toEqual(['gains-i0-d4'])
    }
    expect(found('log00012')).toEqual(['second'])
    expect(found('2025-05')).toEqual(['second'])
    expect(found('')).toHaveLength(2)
    expect(found('  ')).toHaveLength(2)
    expect(found('lan moth')).toEqual([])
    expect(found('ntern')).toEqual([])
  })

  test('takes every character as text, never as an instruction', () => {
    for (const typed of [
      '"',
      '*',
      '-',
      'a"b',
      'NEAR(',
      'name:',
      'OR',
      '^x',
      "';--",
      '\u0000',
      '(',
      '{a b}',
    ]) {
      expect(() => found(typed), typed).not.toThrow()
    }
    expect(found('***')).toEqual([])
    expect(matchExpression('say "x"')).toBe('"say"* AND "x"*')
    expect(matchExpression(' * ')).toBeNull()
  })

  test('follows edits and removals', () => {
    library.edit(1, { name: 'renamed', settings: null })
    expect(found('gains')).toEqual([])
    expect(found('notch')).toEqual([])
    expect(found('renamed bent')).toEqual(['renamed'])
    library.remove(1, 5000)
    expect(found('renamed')).toEqual([])
    expect(page()).toMatchObject({ total: 1, all: 1 })
  })
})
