import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, test } from 'vitest'
import { Library } from '../../../electron/library/library.ts'
import { change, verdict } from '../changes/made.ts'
import { FACTS, readLog } from './made.ts'

let home: string
let library: Library
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-changes-'))
  library = new Library(home)
})
afterEach(() => {
  library.close()
  rmSync(home, { recursive: true, force: true })
})

const HOSTILE = `<img src=x onerror="alert(1)"> '; DROP TABLE change; -- \u202e \u0000 =1+1`

test('a change comes back as it was put, hostile words and all; put again it is replaced', () => {
  const one = change(1, { what: HOSTILE, why: HOSTILE, craft: HOSTILE, verdict: verdict('better') })
  library.changes.put(one)
  expect(library.changes.list(HOSTILE)).toEqual([one])
  library.changes.put({ ...one, note: 'later' })
  expect(library.changes.list(HOSTILE)).toEqual([{ ...one, note: 'later' }])
  library.changes.remove(one.id)
  expect(library.changes.list(HOSTILE)).toEqual([])
})

test('a trail is in the order made, by craft, and is there after the program was closed', () => {
  for (const from of [3, 1, 2]) library.changes.put(change(from))
  library.changes.put(change(9, { craft: 'Other' }))
  library.close()
  library = new Library(home)
  expect(library.changes.list('Lantern').map(({ id }) => id)).toEqual(['change-1', 'change-2', 'change-3'])
  expect(library.changes.crafts()).toEqual([
    { craft: 'Lantern', changes: 3, flights: 0 },
    { craft: 'Other', changes: 1, flights: 0 },
  ])
})

test('a flight that was taken out is still told, and known again when its log comes back under another number', () => {
  const [id] = library.add(readLog('aa'), { ...FACTS, name: 'Baseline' }, 1000)
  const named = { flightId: id!, contentHash: 'aa', name: 'Baseline', flownAt_ms: null }
  library.changes.put(change(1, { before: [named], after: [] }))
  expect(library.changes.present(library.changes.list('Lantern'))).toEqual([id])
  library.remove(id!, 2000)
  const [gone] = library.changes.list('Lantern')
  expect(gone?.before[0]?.name).toBe('Baseline')
  expect(library.changes.present([gone!])).toEqual([])
  const [again] = library.add(readLog('aa'), { ...FACTS, name: 'Baseline' }, 3000)
  expect(again).not.toBe(id)
  expect(library.changes.list('Lantern')[0]?.before[0]?.flightId).toBe(again)
})

test('the glossary is remembered', () => {
  expect(library.changes.glossary()).toEqual([])
  const glossary = [{ pattern: 'idle*', meaning: HOSTILE, unit: 'rpm', low: 1, high: null }]
  library.changes.keepGlossary(glossary)
  library.close()
  library = new Library(home)
  expect(library.changes.glossary()).toEqual(glossary)
})

test('a sheet keeps how it was come by, until the pilot gives another', () => {
  const settings = { name: 's.txt', text: 'a = 1\r\n', how: 'Found beside one.csv.' }
  const [id] = library.add(readLog('aa'), { ...FACTS, settings }, 1000)
  expect(library.get(id!).settings).toEqual(settings)
  library.edit(id!, { settings: { name: 'mine', text: 'a = 2' } })
  expect(library.get(id!).settings).toEqual({ name: 'mine', text: 'a = 2' })
})
