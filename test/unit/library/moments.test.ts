/** Moments in the library: kept, found, tied to their log by its content, changed and brought back. */
import * as fc from 'fast-check'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import * as v from 'valibot'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { listRequestSchema } from '../../../electron/desk/contract/listing.ts'
import {
  momentsRequestSchema,
  type ListedMoment,
  type MomentChange,
} from '../../../electron/desk/contract/moments.ts'
import type { FlightPart } from '../../../electron/library/judgement.ts'
import { wholeLog } from '../../../electron/library/judgement.ts'
import { Library } from '../../../electron/library/library.ts'
import { UndoStack } from '../../../renderer/commands/undo.svelte.ts'
import { cleanNote, cleanTags, LONGEST, MOST_TAGS, type Moment } from '../../../workers/moments/moment.ts'
import { FACTS, readLog } from './made.ts'

let home: string
let library: Library
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-moments-'))
  library = new Library(home)
})
afterEach(() => {
  library.close()
  rmSync(home, { recursive: true, force: true })
})

const addFlight = (hash: string, name = hash, craft = 'Lantern'): number =>
  library.add(readLog(hash), { ...FACTS, name, craft }, 1000)[0]!

const moment = (id: string, part: Partial<Moment> = {}): Moment => ({
  id,
  places: [{ side: 'a', contentHash: 'aa', t0_s: 0.4, t1_s: null, marked: true }],
  tags: [],
  note: '',
  stars: 0,
  flyAgain: false,
  whatToFly: '',
  ...part,
})

const page = (request: v.InferInput<typeof momentsRequestSchema> = {}) =>
  library.moments.page(v.parse(momentsRequestSchema, request))
const idsIn = (request: v.InferInput<typeof momentsRequestSchema>) =>
  page(request).moments.map(({ id }) => id)
const flightsIn = (search: string) =>
  library.listing.page(v.parse(listRequestSchema, { search })).flights.map(({ name }) => name)

/** The first half and the second half of the log that `readLog` makes. */
function half(which: 0 | 1): FlightPart {
  const [whole] = wholeLog(readLog('aa')).parts
  return {
    ...whole!,
    rows: which === 0 ? { from: 0, to: 6 } : { from: 6, to: 11 },
    span: which === 0 ? { t0_s: 0, t1_s: 0.5 } : { t0_s: 0.6, t1_s: 1 },
  }
}

const HOSTILE = [
  '<img src=x onerror=alert(1)>',
  '\u202etxt.exe\u202c \u200f',
  '=cmd|/c calc!A0',
  "'; DROP TABLE moment; --",
  '\ud800 lone',
  'x'.repeat(3999),
  '🛸'.repeat(900),
]

describe('what is kept', () => {
  test('comes back as it was marked, in one flight or in both', () => {
    addFlight('aa', 'First')
    addFlight('bb', 'Second')
    const places = [
      { side: 'a' as const, contentHash: 'aa', t0_s: 0.25, t1_s: 0.5, marked: true },
      { side: 'b' as const, contentHash: 'bb', t0_s: 0.75, t1_s: 1, marked: true },
    ]
    const kept = library.moments.add(
      moment('m1', {
        places,
        tags: ['wash', 'my own'],
        note: 'Shakes.',
        stars: 4,
        flyAgain: true,
        whatToFly: 'Drops',
      }),
      5000,
    )
    expect(kept).toMatchObject({
      id: 'm1',
      tags: ['wash', 'my own'],
      note: 'Shakes.',
      stars: 4,
      flyAgain: true,
      whatToFly: 'Drops',
      createdAt_ms: 5000,
      changedAt_ms: 5000,
    })
    expect(kept.places).toMatchObject([
      { ...places[0], flightId: 1, flightName: 'First', craft: 'Lantern', inFlight: true },
      { ...places[1], flightId: 2, flightName: 'Second' },
    ])
    library.close()
    library = new Library(home)
    expect(library.moments.get('m1')).toEqual(kept)
    expect(library.moments.of(['aa'])).toEqual([kept])
    expect(library.moments.of(['bb'])).toEqual([kept])
    expect(library.moments.of(['cc'])).toEqual([])
  })

  test('a flight that only lay beside is remembered, without the moment being its own', () => {
    addFlight('aa')
    addFlight('bb')
    const beside = { side: 'b' as const, contentHash: 'bb', t0_s: 0.1, t1_s: null, marked: false }
    library.moments.add(moment('m1', { places: [...moment('').places, beside] }), 1)
    expect(library.moments.of(['bb'])).toEqual([])
    expect(library.moments.get('m1').places[1]).toMatchObject({ flightId: 2, marked: false })
  })

  test('what can’t be is refused with a sentence', () => {
    addFlight('aa')
    const place = moment('').places[0]!
    const bad: [string, Partial<Moment>][] = [
      ['no place', { places: [] }],
      ['one side twice', { places: [place, place] }],
      ['marked nowhere', { places: [{ ...place, marked: false }] }],
      ['a span that ends first', { places: [{ ...place, t1_s: 0.1 }] }],
    ]
    for (const [name, part] of bad) {
      expect(() => library.moments.add(moment('m1', part), 1), name).toThrow(/moment|span/i)
    }
    expect(() => library.moments.add(moment('m1', { places: [{ ...place, contentHash: 'zz' }] }), 1)).toThrow(
      'no longer in the logbook',
    )
    library.moments.add(moment('m1'), 1)
    expect(() => library.moments.add(moment('m1'), 1)).toThrow('of that name')
    expect(() => library.moments.edit('m2', { note: '' }, 1)).toThrow('no longer there')
    expect(() => library.moments.edit('m1', { places: [] }, 1)).toThrow('one flight or in two')
    expect(page().all).toBe(1)
  })

  test('hostile words come back as text, shortened at most', () => {
    addFlight('aa')
    for (const [index, words] of HOSTILE.entries()) {
      const kept = library.moments.add(
        moment(`m${index}`, { note: words, tags: [words], whatToFly: words.slice(0, LONGEST.whatToFly) }),
        1,
      )
      expect(kept.note).toBe(words.toWellFormed())
      expect(kept.tags[0]).toBe(Array.from(words.toWellFormed()).slice(0, LONGEST.tag).join('').trim())
      expect(() => page({ search: words.slice(0, 200) })).not.toThrow()
    }
    expect(page().all).toBe(HOSTILE.length)
    expect(idsIn({ search: 'onerror' })).toEqual(['m0'])
    expect(idsIn({ search: 'drop table' })).toEqual(['m3'])
  })

  test('tags: one line each, none twice, few', () => {
    expect(cleanTags([' wash ', 'Wash', '', 'two\nlines', '\u0000'])).toEqual(['wash', 'two lines'])
    expect(cleanTags(Array.from({ length: 99 }, (_, index) => `t${index}`))).toHaveLength(MOST_TAGS)
    expect(cleanNote('a\r\nb\u0007c\td')).toBe('a\nbc\td')
    fc.assert(
      fc.property(fc.array(fc.string({ unit: 'binary' })), (tags) => {
        const once = cleanTags(tags)
        expect(cleanTags(once)).toEqual(once)
        for (const tag of once) expect(Array.from(tag).length).toBeLessThanOrEqual(LONGEST.tag)
      }),
    )
  })
})

describe('a moment and its flight', () => {
  test('a flight that is taken out and added again finds its moments', () => {
    const id = addFlight('aa', 'Named')
    library.moments.add(moment('m1', { note: 'bent' }), 1)
    library.remove(id, 5000)
    expect(library.moments.get('m1').places[0]).toMatchObject({
      flightId: null,
      flightName: 'Named',
      craft: 'Lantern',
      inFlight: false,
    })
    expect(idsIn({ search: 'named bent' })).toEqual(['m1'])
    // A change meanwhile does not lose the name.
    library.moments.edit('m1', { places: [{ ...moment('').places[0]!, t0_s: 0.3 }] }, 2)
    expect(library.moments.get('m1').places[0]?.flightName).toBe('Named')
    const again = addFlight('aa', 'Back')
    expect(again).not.toBe(id)
    expect(library.moments.get('m1').places[0]).toMatchObject({
      flightId: again,
      flightName: 'Back',
      inFlight: true,
    })
    expect(idsIn({ search: 'back bent' })).toEqual(['m1'])
    expect(idsIn({ search: 'named' })).toEqual([])
  })

  test('follows the flight in which it lies when the log is cut otherwise', () => {
    const first = addFlight('aa', 'Whole')
    library.moments.add(moment('early'), 1)
    library.moments.add(
      moment('late', { places: [{ ...moment('').places[0]!, t0_s: 0.8 }], note: 'echo' }),
      1,
    )
    const flightOf = (id: string) => library.moments.get(id).places[0]
    library.setPart(first, half(0))
    expect(flightOf('early')).toMatchObject({ flightId: first, inFlight: true, flightStart_s: 0 })
    // Outside of every flight: the nearest one, and it says so.
    expect(flightOf('late')).toMatchObject({ flightId: first, inFlight: false })
    const second = library.addPart(first, half(1))
    expect(flightOf('late')).toMatchObject({ flightId: second, inFlight: true, flightStart_s: 0.6 })
    expect(flightsIn('echo')).toEqual([library.get(second).name])
    library.setPart(second, half(0))
    library.remove(first, 2)
    expect(flightOf('early')).toMatchObject({ flightId: second })
    expect(flightOf('late')).toMatchObject({ flightId: second, inFlight: false, t0_s: 0.8 })
  })

  test('the logbook finds a flight by what was noted at its moments', () => {
    addFlight('aa', 'One')
    addFlight('bb', 'Two')
    library.moments.add(moment('m1', { note: 'Swings back', tags: ['bounce-back', 'zephyr'] }), 1)
    expect(flightsIn('swings')).toEqual(['One'])
    expect(flightsIn('zeph bounce one')).toEqual(['One'])
    library.moments.edit('m1', { note: 'quiet' }, 2)
    expect(flightsIn('swings')).toEqual([])
    expect(flightsIn('quiet')).toEqual(['One'])
    library.moments.remove('m1', 3)
    expect(flightsIn('quiet')).toEqual([])
    library.moments.restore('m1')
    expect(flightsIn('quiet')).toEqual(['One'])
    library.edit(1, { craft: 'Moth' })
    expect(idsIn({ craft: 'Moth' })).toEqual(['m1'])
    expect(idsIn({ search: 'moth quiet' })).toEqual(['m1'])
  })
})

describe('the list', () => {
  beforeEach(() => {
    addFlight('aa', 'One', 'Lantern')
    addFlight('bb', 'Two', 'Moth')
    const inB = [{ ...moment('').places[0]!, contentHash: 'bb' }]
    library.moments.add(moment('m1', { tags: ['wash'], stars: 1 }), 10)
    library.moments.add(
      moment('m2', { tags: ['Wash', 'own'], stars: 5, flyAgain: true, whatToFly: 'split s' }),
      20,
    )
    library.moments.add(moment('m3', { places: inB, stars: 3, flyAgain: true }), 30)
  })

  test('filters, sorts, counts', () => {
    expect(idsIn({})).toEqual(['m3', 'm2', 'm1'])
    expect(idsIn({ descending: false })).toEqual(['m1', 'm2', 'm3'])
    expect(idsIn({ sort: 'stars' })).toEqual(['m2', 'm3', 'm1'])
    expect(idsIn({ tag: 'wash' })).toEqual(['m2', 'm1'])
    expect(idsIn({ stars: 3 })).toEqual(['m3', 'm2'])
    expect(idsIn({ flyAgain: true, craft: 'Lantern' })).toEqual(['m2'])
    expect(idsIn({ search: 'split' })).toEqual(['m2'])
    expect(idsIn({ search: '***' })).toEqual([])
    expect(page({ stars: 3, limit: 1 })).toMatchObject({ total: 2, all: 3 })
    expect(page().crafts).toEqual([
      { craft: 'Lantern', count: 2 },
      { craft: 'Moth', count: 1 },
    ])
    expect(page().tags).toContainEqual({ tag: 'own', count: 1 })
    library.moments.edit('m1', { note: 'later' }, 99)
    expect(idsIn({ sort: 'changed' })[0]).toBe('m1')
  })

  test('what was taken away long ago is forgotten, nothing else', () => {
    library.moments.remove('m1', 100)
    library.moments.remove('m2', 200)
    library.moments.forgetRemoved(150)
    expect(() => library.moments.restore('m1')).toThrow('no longer there')
    expect(library.moments.restore('m2').id).toBe('m2')
    expect(page().all).toBe(2)
  })
})

/** All that is stored of the moments, but the stamps of their last change. */
const stored = () =>
  page({ limit: 500 }).moments.map(
    ({ changedAt_ms: _changed, ...rest }) => rest satisfies Partial<ListedMoment>,
  )

test('any sequence of marking, editing, taking away, undo and redo: undone all is the start, redone all is the end', async () => {
  addFlight('aa')
  addFlight('bb')
  library.moments.add(moment('first', { note: 'was there before' }), 1)
  const change = fc.record(
    {
      note: fc.string(),
      tags: fc.array(fc.string({ minLength: 1, maxLength: 8 }), { maxLength: 4 }),
      stars: fc.integer({ min: 0, max: 5 }),
      flyAgain: fc.boolean(),
      whatToFly: fc.string({ maxLength: 30 }),
    },
    { requiredKeys: [] },
  )
  const step = fc.oneof(
    fc.record({ do: fc.constant('add' as const), change }),
    fc.record({ do: fc.constant('edit' as const), which: fc.nat(), change }),
    fc.record({ do: fc.constant('remove' as const), which: fc.nat() }),
    fc.record({ do: fc.constant('undo' as const) }),
    fc.record({ do: fc.constant('redo' as const) }),
  )
  let named = 0
  let now_ms = 10
  await fc.assert(
    fc.asyncProperty(fc.array(step, { maxLength: 25 }), async (steps) => {
      const stack = new UndoStack()
      const before = stored()
      for (const one of steps) {
        now_ms++
        const ids = page({ limit: 500 }).moments.map(({ id }) => id)
        if (one.do === 'undo') await stack.undo()
        else if (one.do === 'redo') await stack.redo()
        else if (one.do === 'add') {
          const id = `n${named++}`
          library.moments.add(moment(id, one.change as MomentChange as Partial<Moment>), now_ms)
          stack.did({
            name: 'mark a moment',
            undo: () => library.moments.remove(id, now_ms),
            redo: () => void library.moments.restore(id),
          })
        } else if (ids.length > 0) {
          const id = ids[one.which % ids.length]!
          if (one.do === 'remove') {
            library.moments.remove(id, now_ms)
            stack.did({
              name: 'take a moment away',
              undo: () => void library.moments.restore(id),
              redo: () => library.moments.remove(id, now_ms),
            })
          } else {
            const { note, tags, stars, flyAgain, whatToFly } = library.moments.get(id)
            const next = one.change as MomentChange
            library.moments.edit(id, next, now_ms)
            stack.did({
              name: 'edit a moment',
              undo: () => void library.moments.edit(id, { note, tags, stars, flyAgain, whatToFly }, now_ms),
              redo: () => void library.moments.edit(id, next, now_ms),
            })
          }
        }
      }
      const after = stored()
      let undone = 0
      for (; stack.nextUndo; undone++) await stack.undo()
      expect(stored()).toEqual(before)
      for (let step = 0; step < undone; step++) await stack.redo()
      expect(stored()).toEqual(after)
      for (; stack.nextUndo;) await stack.undo()
    }),
    { numRuns: 60 },
  )
})
