import * as fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { compareSheets } from '../../../workers/settings/compare-sheets.ts'
import {
  entryFor,
  glossaryText,
  outOfRange,
  rangeInWords,
  readGlossary,
  type GlossaryEntry,
} from '../../../workers/settings/glossary.ts'
import { keyOfName } from '../../../workers/settings/names.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { warningsFor, type SheetWarning } from '../../../workers/settings/warnings.ts'

const warn = (a: string, b: string, glossary: GlossaryEntry[] = []) =>
  warningsFor(compareSheets(parseSheet(a).settings, parseSheet(b).settings), glossary)
const kinds = (warnings: readonly SheetWarning[]) => warnings.map(({ kind }) => kind)

describe('warnings that need no knowledge of any program (rules: common practice, no source)', () => {
  test('an idle speed entered as 2000 where the unit is hundreds of rpm', () => {
    const [first, ...rest] = warn('idle speed = 20\nroll P = 45', 'idle speed = 2000\nroll P = 45')
    expect(rest).toEqual([])
    expect(first).toMatchObject({
      kind: 'jump',
      level: 'caution',
      names: ['idle speed'],
      standing: 'common practice, no source',
    })
    expect(first?.sentence).toBe(
      'idle speed jumps 100 times up, from 20 to 2000. Was it entered in another unit?',
    )
    expect(first?.reason).toMatch(/props off/)
  })

  test('a jump begins at ten times, either way; a change of unit is told as such', () => {
    expect(kinds(warn('x = 1', 'x = 9.9'))).toEqual([])
    expect(kinds(warn('x = 1', 'x = 10'))).toEqual(['jump'])
    expect(kinds(warn('x = 10', 'x = 1'))).toEqual(['jump'])
    expect(kinds(warn('x = 0', 'x = 500'))).toEqual([])
    expect(warn('x = 3', 'x = 45')[0]?.sentence).toBe('x jumps 15 times up, from 3 to 45.')
    expect(kinds(warn('delay = 2 ms', 'delay = 2000 us'))).toEqual(['unit'])
  })

  test('a gain set to zero, by number or by a word; not any other setting', () => {
    expect(kinds(warn('yaw I = 40', 'yaw I = 0'))).toEqual(['zero gain'])
    expect(kinds(warn('roll gain = 40', 'roll gain = off'))).toEqual(['zero gain'])
    expect(kinds(warn('led = 40', 'led = 0'))).toEqual([])
  })

  test('a sign that flips', () => {
    expect(kinds(warn('trim = 3', 'trim = -3'))).toEqual(['sign'])
    expect(warn('trim = 3', 'trim = -3')[0]?.reason).toMatch(/props off/)
  })

  test('an axis left out', () => {
    const three = (roll: number, pitch: number, yaw: number) =>
      `roll P = ${roll}\npitch P = ${pitch}\nyaw P = ${yaw}`
    expect(kinds(warn(three(4, 4, 4), three(5, 5, 5)))).toEqual([])
    expect(warn(three(4, 4, 4), three(5, 5, 4))).toMatchObject([{ kind: 'axis left out', level: 'note' }])
    expect(warn(three(4, 4, 4), three(5, 4, 5))).toMatchObject([
      {
        kind: 'axis left out',
        level: 'check',
        sentence: 'P was changed on roll and yaw, not on pitch. Was that meant?',
      },
    ])
    expect(warn(three(4, 4, 4), three(5, 4, 4))).toMatchObject([{ kind: 'axis left out', level: 'note' }])
    expect(warn(three(4, 4, 4), three(4, 4, 5))).toEqual([])
  })

  test('several changes at once; the same change on several axes is one', () => {
    expect(kinds(warn('roll P = 4\npitch P = 4', 'roll P = 5\npitch P = 5'))).toEqual([])
    expect(kinds(warn('roll P = 4\npitch P = 4', 'roll P = 5\npitch P = 3'))).toEqual(['several changes'])
    const many = warn('a = 1\nb = 1\nold = 1', 'a = 2\nb = 2\nnew = 1')
    expect(many[0]?.sentence).toMatch(
      /^4 things were changed at once \(a: 1 → 2; b: 1 → 2; new = 1 added; old removed\)/,
    )
  })

  test('higher D and opened filters: hover briefly, land, feel the motors', () => {
    expect(kinds(warn('roll D = 20', 'roll D = 25'))).toEqual(['higher D'])
    expect(kinds(warn('roll D = 25', 'roll D = 20'))).toEqual([])
    expect(kinds(warn('gyro low-pass Hz = 100', 'gyro low-pass Hz = 150'))).toEqual(['filter opened'])
    expect(kinds(warn('gyro low-pass Hz = 150', 'gyro low-pass Hz = 100'))).toEqual([])
    expect(kinds(warn('gyro low-pass Hz = 100', 'gyro low-pass Hz = off'))).toEqual(['filter opened'])
    expect(kinds(warn('notch 1 Hz = 200\nx = 1', 'x = 1'))).toContain('filter opened')
    for (const warning of [...warn('D = 1', 'D = 2'), ...warn('lpf hz = 80', 'lpf hz = 90')])
      expect(warning.sentence).toMatch(/Hover briefly, land, and feel the motors/)
  })

  test('a lower idle may stall a motor', () => {
    expect(kinds(warn('motor idle % = 6', 'motor idle % = 4'))).toEqual(['lower idle'])
  })

  test('the gravest come first, and nothing changed says nothing', () => {
    const levels = warn(
      'roll P = 4\npitch P = 4\nyaw P = 4\nb = 1',
      'roll P = 0\npitch P = 4\nyaw P = 4\nb = 2',
    ).map(({ level }) => level)
    expect(levels).toEqual(
      [...levels].sort(
        (x, y) => ['caution', 'check', 'note'].indexOf(x) - ['caution', 'check', 'note'].indexOf(y),
      ),
    )
    fc.assert(fc.property(fc.string(), (text) => void expect(warn(text, text)).toEqual([])))
  })
})

describe('the glossary', () => {
  const entry = (pattern: string, low: number | null = null, high: number | null = null): GlossaryEntry => ({
    pattern,
    meaning: '',
    unit: '',
    low,
    high,
  })

  test('finds an entry whatever the spelling, the closest of those that fit', () => {
    const glossary = [entry('*'), entry('idle *'), entry('Idle-Speed'), entry('* P')]
    expect(entryFor(glossary, 'idle_speed')?.pattern).toBe('Idle-Speed')
    expect(entryFor(glossary, 'idle_time')?.pattern).toBe('idle *')
    expect(entryFor(glossary, 'gains.roll.P')?.pattern).toBe('* P')
    expect(entryFor(glossary, 'other')?.pattern).toBe('*')
    expect(entryFor([entry('idle')], 'other')).toBeNull()
    expect(entryFor([entry('')], '')).toBeNull()
  })

  test('a name fits itself, and what a star stands for fits the star', () => {
    const name = fc.stringMatching(/^[a-z]{2,6}( [a-z]{2,6}){0,3}$/)
    fc.assert(
      fc.property(name, name, name, (before, middle, after) => {
        expect(entryFor([entry(before)], before)).not.toBeNull()
        expect(entryFor([entry(`${before} * ${after}`)], `${before} ${middle} ${after}`)).not.toBeNull()
      }),
    )
  })

  test('warns of values outside the range, changed or not', () => {
    const glossary: GlossaryEntry[] = [
      { pattern: 'idle*', meaning: 'Lowest speed', unit: 'hundreds of rpm', low: 10, high: 60 },
    ]
    expect(warn('idle speed = 2000', 'idle speed = 2000', glossary)).toMatchObject([
      {
        kind: 'out of range',
        standing: 'your glossary',
        sentence: 'idle speed = 2000 is above 10 to 60 hundreds of rpm.',
        reason: 'You noted: Lowest speed.',
      },
    ])
    expect(warn('idle speed = 20', 'idle speed = 25', glossary)).toEqual([])
    expect(outOfRange(entry('x', 1, null), '[2, 0.5]')).toBe('below 1')
    expect(outOfRange(entry('x', 1, 2), 'off')).toBeNull()
    expect(rangeInWords(entry('x', null, 5))).toBe('5 or less')
  })

  test('written as text it reads back', () => {
    const words = fc
      .string({ unit: 'grapheme', maxLength: 20 })
      .map((text) => text.replaceAll(/\s+/g, ' ').replaceAll('\uFEFF', '').trim())
    const one = fc.record({
      pattern: words.filter((text) => text !== ''),
      meaning: words,
      unit: words,
      low: fc.option(
        fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e6, max: 0 }).map((x) => x + 0),
      ),
      high: fc.option(
        fc.double({ noNaN: true, noDefaultInfinity: true, min: 0, max: 1e6 }).map((x) => x + 0),
      ),
    })
    fc.assert(
      fc.property(fc.uniqueArray(one, { maxLength: 6, selector: ({ pattern }) => pattern }), (glossary) => {
        expect(readGlossary(glossaryText(glossary))).toEqual({ glossary, faults: [] })
      }),
    )
  })

  test('says what does not fit, line by line', () => {
    const { glossary, faults } = readGlossary(
      'a | b | c | 1 | 2\n | no name\nx | y | z | one | 2\nx | y | z | 3 | 2\np | | | | | extra\n',
    )
    expect(glossary.map(({ pattern }) => pattern)).toEqual(['a'])
    expect(faults).toEqual([
      'Line 2 has no name.',
      'Line 3: the range must be numbers.',
      'Line 4: the range ends below its start.',
      'Line 5 has more than five parts.',
    ])
  })

  test('keys hold words alone', () => {
    expect(keyOfName('Gains/Roll.P_2')).toBe('gains roll p 2')
  })
})
