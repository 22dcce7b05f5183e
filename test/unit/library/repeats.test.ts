/** Which flights are offered as the repeat of another's settings, and in which order. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, test } from 'vitest'
import { repeatOffers } from '../../../electron/desk/repeats.ts'
import { Library } from '../../../electron/library/library.ts'
import { FACTS, readLog } from './made.ts'

let home: string
let library: Library
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-repeats-'))
  library = new Library(home)
})
afterEach(() => {
  library.close()
  rmSync(home, { recursive: true, force: true })
})

function put(name: string, craft: string, day: number, settings: string | null): number {
  const [id] = library.add(
    readLog(name),
    {
      ...FACTS,
      name,
      craft,
      flownAt_ms: Date.parse(`2025-05-${day}T10:00Z`),
      settings: settings === null ? null : { name: 'sheet.txt', text: settings },
    },
    Date.parse('2026-01-01T00:00Z'),
  )
  return id!
}

test('equal sheets of the same craft first, then the craft, then the rest; never A or B; search looks everywhere', () => {
  const a = put('before', 'Lantern', 10, 'p = 40\nd = 20\n')
  const b = put('after', 'Lantern', 11, 'p = 50\nd = 20\n')
  // Other writing, order and date say the same.
  put('again', 'Lantern', 12, '# flown twice\r\nset D = 20.0\r\nP: 40\r\ndate: 2025-05-12')
  put('other sheet', 'Lantern', 14, 'p = 41\nd = 20\n')
  put('like b', 'Lantern', 13, 'p = 50\nd = 20\n')
  put('another craft', 'Moth', 20, 'p = 40\nd = 20\n')
  put('no sheet', 'Lantern', 15, null)
  const offered = (search = '') =>
    repeatOffers(library, a, b, search).map(({ flight, sameAs, sameCraft }) => [
      flight.name,
      sameAs.join(),
      sameCraft,
    ])
  expect(offered()).toEqual([
    ['like b', 'b', true],
    ['again', 'a', true],
    ['no sheet', '', true],
    ['other sheet', '', true],
    ['another craft', '', false],
  ])
  expect(offered('moth')).toEqual([['another craft', '', false]])
  expect(offered('again')).toEqual([['again', 'a', true]])
  expect(offered('nothing like it')).toEqual([])
})

test('settings above the log’s own table count as a sheet does', () => {
  const a = put('before', 'Lantern', 10, 'p = 40\nd = 20\n')
  const b = put('after', 'Lantern', 11, 'p = 50\nd = 20\n')
  const flown = (name: string, p: string) =>
    library.add(
      {
        ...readLog(name),
        preamble: [
          { name: 'craft', value: 'Lantern' },
          { name: 'P', value: p },
          { name: 'D', value: '20' },
        ],
      },
      { ...FACTS, name, craft: 'Lantern', flownAt_ms: Date.parse('2025-05-12T10:00Z') },
      Date.parse('2026-01-01T00:00Z'),
    )
  flown('like a', '40')
  flown('like none', '45')
  expect(repeatOffers(library, a, b, '').map(({ flight, sameAs }) => [flight.name, sameAs.join()])).toEqual([
    ['like a', 'a'],
    ['like none', ''],
  ])
})

test('no sheet is like no other, and a flight that is gone is said so', () => {
  const a = put('one', 'Lantern', 10, null)
  const b = put('two', 'Lantern', 11, '  \n')
  put('three', 'Lantern', 12, '\n ')
  expect(repeatOffers(library, a, b, '').map(({ sameAs }) => sameAs)).toEqual([[]])
  expect(() => repeatOffers(library, a, 999, '')).toThrow()
})
