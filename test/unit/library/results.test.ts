/** Kept results come back for the same content, reading, method, version and parameters, and for nothing else. */
import Database from 'better-sqlite3'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { wholeLog } from '../../../electron/library/judgement.ts'
import { Library } from '../../../electron/library/library.ts'
import { readingKey } from '../../../electron/library/reading-key.ts'
import { Results, type ResultKey } from '../../../electron/library/results.ts'
import { assign, FACTS, readLog } from './made.ts'

let home: string
let library: Library
let key: ResultKey
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'twopack-results-'))
  library = new Library(home)
  library.add(readLog('aa'), FACTS, 1000)
  key = { ...library.reading(1), method: 'spectrum', version: 3, parameters: { window: 512, axis: 'roll' } }
})
afterEach(() => {
  library.close()
  rmSync(home, { recursive: true, force: true })
})

describe('kept results', () => {
  test('come back by their key, whatever the order of its parameters', () => {
    expect(library.results.get(key, 1)).toBeNull()
    library.results.keep(key, '[1,2]', 1)
    expect(library.results.get(key, 2)).toBe('[1,2]')
    expect(library.results.get({ ...key, parameters: { axis: 'roll', window: 512 } }, 2)).toBe('[1,2]')
    expect(library.results.get({ ...key, parameters: { axis: 'yaw', window: 512 } }, 2)).toBeNull()
    expect(library.results.get({ ...key, method: 'other' }, 2)).toBeNull()
    expect(library.results.get({ ...key, version: 4 }, 2)).toBeNull()
  })

  test('are never met after a meaning was changed, nor after the flight was removed', () => {
    library.results.keep(key, '[1,2]', 1)
    library.assign(
      new Map([[1, wholeLog(readLog('aa')).parts[0]!]]),
      [assign('time', 0), { ...assign('gyro.roll', 1), sign: -1 }],
      2,
    )
    expect(library.reading(1).reading).not.toBe(key.reading)
    expect(library.results.get({ ...key, ...library.reading(1) }, 2)).toBeNull()
    library.remove(1, 5000)
    library.add(readLog('aa'), FACTS, 1000)
    expect(library.results.get(key, 3)).toBeNull()
  })

  test('of an older version go when a newer one is kept', () => {
    library.results.keep(key, 'old', 1)
    library.results.keep({ ...key, version: 4 }, 'new', 2)
    expect(library.results.get(key, 3)).toBeNull()
    expect(library.results.get({ ...key, version: 4 }, 3)).toBe('new')
  })

  test('the longest unused go first when there are too many', () => {
    const database = new Database(join(home, 'library.sqlite'))
    const few = new Results(database, 10)
    const at = (window: number) => ({ ...key, parameters: { window } })
    few.keep(at(1), 'aaaa', 1)
    few.keep(at(2), 'bbbb', 2)
    few.get(at(1), 3)
    few.keep(at(3), 'cccc', 4)
    expect([1, 2, 3].map((window) => few.get(at(window), 5))).toEqual(['aaaa', null, 'cccc'])
    database.close()
  })
})

test('a reading is named by meanings, units, signs and rows, not by words', () => {
  const one = [assign('time', 0), assign('gyro.roll', 1)]
  expect(readingKey(one, null)).toBe(readingKey([...one].reverse(), null))
  expect(readingKey(one, null)).toBe(readingKey([one[0]!, { ...one[1]!, how: 'Otherwise.' }], null))
  expect(readingKey(one, null)).not.toBe(readingKey([one[0]!, { ...one[1]!, unit: 'radps' }], null))
  expect(readingKey(one, null)).not.toBe(readingKey(one, { from: 0, to: 10 }))
})
