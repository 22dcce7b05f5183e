/** A large archive comes in slice by slice: others are served meanwhile, and broken off it leaves nothing. */
import { cpSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import Database from 'better-sqlite3'
import { expect, test } from 'vitest'
import type { Progress } from '../../../electron/desk/contract/schemas.ts'
import { Library } from '../../../electron/library/library.ts'
import { contentsOf, exported, fill, folder, hashOf, imported, newLibrary, work } from './archive-support.ts'
import { archiveOfMany } from './many-archived.ts'

const MANY = 10_000
const MINE = {
  logs: [{ seed: 9, words: 'mine', cut: true, samples: true }],
  moments: [{ note: 'mine', log: 9 }],
  changes: ['mine'],
  kept: ['mine'],
}
const THEIRS = {
  logs: Array.from({ length: 60 }, (_, index) => ({
    seed: 10 + index,
    words: `theirs ${index}`,
    cut: index % 2 === 0,
    samples: true,
  })),
  moments: Array.from({ length: 60 }, (_, index) => ({ note: `n ${index}`, log: 10 + index })),
  changes: ['theirs'],
  kept: ['x', 'y'],
}

const listed = (library: Library): number =>
  library.listing.page({
    ...{ search: '', craft: null, health: 'any', group: 'none', sort: 'flown', descending: false },
    ...{ offset: 0, limit: 1, also: [] },
  }).all

const noted = (home: string): unknown => {
  const database = new Database(join(home, 'library.sqlite'), { readonly: true })
  const count = database.prepare('SELECT count(*) FROM arriving').pluck().get()
  database.close()
  return count
}

test('while ten thousand flights come in and go again, small calls are answered and what they write stays', async () => {
  const path = await archiveOfMany(join(folder, 'many.zip'), MANY)
  const { home, library } = newLibrary()
  fill(library, MINE)
  let isDone = false
  let answered = 0
  let longest_ms = 0
  const serve = async (): Promise<void> => {
    for (; !isDone; answered++) {
      const asked_ms = performance.now()
      await wait(1)
      library.memory.keep('small call', String(answered))
      library.edit(library.flightsOf(hashOf('9'))[0]!, { note: String(answered) })
      longest_ms = Math.max(longest_ms, performance.now() - asked_ms)
    }
  }
  const told: Progress[] = []
  const serving = serve()
  const began_ms = performance.now()
  const merged = await imported(library, path, { ...work(), report: (progress) => told.push(progress) })
  const took_ms = performance.now() - began_ms
  expect(listed(library)).toBe(MANY + 2)
  const inAnswered = answered
  await library.arrivals.takeBack(merged)
  isDone = true
  await serving
  // All at once, the longest would be the better part of it.
  expect(longest_ms).toBeLessThan(took_ms / 5)
  expect(inAnswered).toBeGreaterThan(20)
  expect(answered).toBeGreaterThan(inAnswered + 20)
  // Whoever watches sees it move on, and never back.
  const shares = told.map(({ done }) => done)
  expect(shares).toEqual(shares.toSorted((a, b) => a - b))
  expect(new Set(told.map(({ phase }) => phase))).toEqual(
    new Set(['Checking the archive', 'Adding what is new']),
  )
  expect(listed(library)).toBe(2)
  expect(noted(home)).toBe(0)
  expect(library.memory.kept('small call')).toBe(String(answered - 1))
  library.close()
}, 120_000)

test('cancelled half-way, nothing of it is left; what was written meanwhile is', async () => {
  const path = await archiveOfMany(join(folder, 'many.zip'), 1000)
  const { home, library } = newLibrary()
  fill(library, MINE)
  const before = await contentsOf(library)
  const stop = new AbortController()
  let most = 0
  const report = ({ phase, done }: Progress): void => {
    if (phase !== 'Adding what is new' || done < 0.6 || stop.signal.aborted) return
    most = listed(library)
    library.memory.keep('meanwhile', '1')
    stop.abort()
  }
  await expect(imported(library, path, { signal: stop.signal, report })).rejects.toMatchObject({
    code: 'cancelled',
  })
  expect(most).toBeGreaterThan(100)
  expect(most).toBeLessThan(1000)
  expect(noted(home)).toBe(0)
  expect(library.memory.kept('meanwhile')).toBe('1')
  const { 'tables/kept.jsonl': kept, ...rest } = await contentsOf(library)
  const { 'tables/kept.jsonl': keptBefore, ...restBefore } = before
  expect(rest).toEqual(restBefore)
  expect(kept).toBe(`${keptBefore}["meanwhile","1"]\n`)
  library.close()
}, 60_000)

test('when the disk is full half-way, nothing of it is left, and that is said in a sentence', async () => {
  const path = await archiveOfMany(join(folder, 'many.zip'), 800)
  const { home, library: first } = newLibrary()
  fill(first, MINE)
  const before = await contentsOf(first)
  first.close()
  // Pages of 4 kB: a new library has some 60, eight hundred flights want some hundreds.
  const library = new Library(home, 200)
  let reached = 0
  const report = ({ done }: Progress): void => void (reached = Math.max(reached, done < 1 ? done : 0))
  await expect(imported(library, path, { ...work(), report })).rejects.toMatchObject({ code: 'disk' })
  expect(reached).toBeGreaterThan(0.5)
  library.close()
  const again = new Library(home)
  expect(noted(home)).toBe(0)
  expect(await contentsOf(again)).toEqual(before)
  again.close()
}, 60_000)

test('broken off by the end of the program, it is taken out when the library is opened again', async () => {
  const one = newLibrary()
  fill(one.library, THEIRS)
  const { home, library } = newLibrary()
  fill(library, MINE)
  const before = await contentsOf(library)
  const copies: string[] = []
  // As the disk stands between any two slices, it may stand for ever.
  const report = ({ phase, done }: Progress): void => {
    if (phase !== 'Adding what is new' || done === 1) return
    copies.push(join(folder, `broken-off-${copies.length}`))
    cpSync(home, copies.at(-1)!, { recursive: true })
  }
  await imported(library, await exported(one.library), { ...work(), report })
  expect(copies.length).toBeGreaterThan(0)
  for (const copy of copies) {
    expect(noted(copy)).toBeGreaterThan(0)
    const opened = new Library(copy)
    expect(await contentsOf(opened)).toEqual(before)
    expect(readdirSync(join(copy, 'columns'))).toEqual([`${hashOf('9')}.columns`])
    expect(noted(copy)).toBe(0)
    opened.close()
  }
  one.library.close()
  library.close()
}, 60_000)
