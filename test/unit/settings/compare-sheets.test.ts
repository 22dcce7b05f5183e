import * as fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { compareSheets, grouped, isSame } from '../../../workers/settings/compare-sheets.ts'
import {
  axisOfName,
  gainOfName,
  isRecordName,
  keyOfName,
  withoutAxis,
} from '../../../workers/settings/names.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { sheetOfFlight } from '../../../workers/settings/sheet-of-flight.ts'
import { besideLog } from '../../../workers/settings/beside-log.ts'

const compare = (a: string, b: string) => compareSheets(parseSheet(a).settings, parseSheet(b).settings)

describe('laws', () => {
  const name = fc.stringMatching(/^[a-z]{1,5}( [a-z]{1,3}){0,2}$/)
  const sheet = fc
    .uniqueArray(
      fc.tuple(name, fc.oneof(fc.integer().map(String), fc.constantFrom('on', 'off', '1, 2, 3', 'word'))),
      {
        maxLength: 12,
        selector: ([own]) => keyOfName(own),
      },
    )
    .map((rows) => rows.map(([own, value], line) => ({ name: own, value, line })))

  test('a sheet against itself differs in nothing', () => {
    fc.assert(
      fc.property(sheet, (own) => {
        const found = compareSheets(own, own)
        expect(isSame(found)).toBe(true)
        expect(found.unchanged).toBe(own.length)
      }),
    )
  })

  test('swapping the sheets swaps what was added and removed, a and b', () => {
    fc.assert(
      fc.property(sheet, sheet, (a, b) => {
        const forth = compareSheets(a, b)
        const back = compareSheets(b, a)
        const names = (list: readonly { name: string }[]) => list.map((one) => one.name).sort()
        expect(names(forth.added)).toEqual(names(back.removed))
        expect(forth.unchanged).toBe(back.unchanged)
        expect(forth.changed.map(({ a: x, b: y }) => `${x}/${y}`).sort()).toEqual(
          back.changed.map(({ a: x, b: y }) => `${y}/${x}`).sort(),
        )
        for (const { number } of forth.changed)
          if (number) expect(number.a + number.difference).toBeCloseTo(number.b, 6)
      }),
    )
  })

  test('every setting of B is common or added, every one of A common or removed', () => {
    fc.assert(
      fc.property(sheet, sheet, (a, b) => {
        const { common, added, removed } = compareSheets(a, b)
        const settings = (list: typeof a) => list.filter((one) => !isRecordName(one.name)).length
        const shared = common.filter((one) => !isRecordName(one.name)).length
        expect(shared + added.length).toBe(settings(b))
        expect(shared + removed.length).toBe(settings(a))
      }),
    )
  })
})

test('numbers with difference and ratio, lists with their places, order alone', () => {
  const found = compare(
    'roll P = 40\ncurve = 1, 2, 3\nmap = 3 1 2\nmode = soft\nold = 1\nsame = 1.0',
    'roll P = 50\ncurve = 1, 5, 3, 4\nmap = 1 2 3\nmode = hard\nnew = 2\nsame = 1',
  )
  expect(found.changed).toMatchObject([
    { name: 'roll P', number: { a: 40, b: 50, difference: 10, ratio: 1.25 } },
    { name: 'curve', list: { orderOnly: false, places: [2], lengthA: 3, lengthB: 4 } },
    { name: 'map', list: { orderOnly: true } },
    { name: 'mode', number: null, list: null },
  ])
  expect(found.added).toMatchObject([{ name: 'new', value: '2' }])
  expect(found.removed).toMatchObject([{ name: 'old', value: '1' }])
  expect(found.unchanged).toBe(1)
})

test('a name in another spelling meets its own, unless two could', () => {
  expect(compare('roll_p = 4', 'Roll P = 5').changed).toMatchObject([{ name: 'Roll P', a: '4', b: '5' }])
  const two = compare('roll_p = 4\nroll p = 4', 'Roll-P = 5')
  expect(two.changed).toEqual([])
  expect(two.removed).toHaveLength(2)
})

test('the record itself is no setting', () => {
  const found = compare(
    'date = 2026-05-09\nflight number = 3\nroll P = 4',
    'date = 2026-05-10\nflight number = 4\nroll P = 4',
  )
  expect(isSame(found)).toBe(true)
  expect(found.record).toHaveLength(2)
})

test('groups: sections, what is set without its axis, first words', () => {
  const { changed } = compare(
    'roll P = 1\npitch P = 1\nfilter low = 1\nfilter high = 1\n[rates]\nroll = 1',
    'roll P = 2\npitch P = 2\nfilter low = 2\nfilter high = 2\n[rates]\nroll = 2',
  )
  const list = grouped({ changed, added: [], removed: [], unchanged: 0, record: [], common: [] })
  expect(list.map(({ group, settings }) => [group, settings.length])).toEqual([
    ['p', 2],
    ['filter', 2],
    ['rates', 1],
  ])
})

test('names: axes by the words for columns in several languages, gains by their letters', () => {
  expect(axisOfName('roll P')).toEqual({ axis: 'roll', family: 'p' })
  expect(axisOfName('pitchD')).toEqual({ axis: 'pitch', family: 'd' })
  expect(axisOfName('d_yaw')).toEqual({ axis: 'yaw', family: 'd' })
  expect(axisOfName('Gieren.Kp')).toEqual({ axis: 'yaw', family: 'kp' })
  expect(axisOfName('tangage gain')).toEqual({ axis: 'pitch', family: 'gain' })
  expect(axisOfName('ailerongain')?.axis ?? null).toBeNull()
  expect(axisOfName('roll to yaw')).toBeNull()
  expect(withoutAxis('roll I limit')).toBe('I limit')
  expect(withoutAxis('gains.roll.P')).toBe('gains.P')
  expect(withoutAxis('Rate_Yaw')).toBe('Rate')
  expect(withoutAxis('pitchD')).toBe('')
  expect(gainOfName('roll P')).toBe('p')
  expect(gainOfName('pitchd')).toBe('d')
  expect(gainOfName('kd_yaw')).toBe('d')
  expect(gainOfName('yaw feed-forward')).toBe('feed-forward')
  expect(gainOfName('D low-pass Hz')).toBeNull()
  expect(gainOfName('roll I limit')).toBeNull()
  expect(gainOfName('propeller blades')).toBeNull()
})

test('a flight without a kept sheet has what stands above its table', () => {
  const preamble = [
    { name: 'date', value: '2026-05-09' },
    { name: 'roll P', value: '4' },
  ]
  const flight = sheetOfFlight({ settings: null, preamble })
  expect(flight.settings.map(({ name }) => name)).toEqual(['roll P'])
  expect(flight.from).toBe("the lines above the log's table")
  expect(sheetOfFlight({ settings: { name: 's.txt', text: 'a = 1' }, preamble }).from).toBe('s.txt')
  expect(sheetOfFlight({ settings: null, preamble: [] })).toEqual({ settings: [], sheet: null, from: '' })
})

test('files beside a log: its own name and a text-like ending, or a word for settings behind it', () => {
  const names = [
    'day 2.csv',
    'day 2.txt',
    'day 2.settings.txt',
    'day 2-setup',
    'Day 2.JSON',
    'day 21.txt',
    'day 2.png',
    'x.ini',
    'day 2.bin.txt',
  ]
  expect(besideLog('day 2.csv', names)).toEqual([
    'day 2-setup',
    'day 2.settings.txt',
    'Day 2.JSON',
    'day 2.txt',
  ])
  expect(besideLog('day 2.csv.gz', ['day 2.ini', 'day 2.csv'])).toEqual(['day 2.csv', 'day 2.ini'])
})
