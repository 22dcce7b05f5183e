import * as fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { looksLikeSheet, parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { readValue, sameValue } from '../../../workers/settings/values.ts'

const read = (text: string) => parseSheet(text).settings.map(({ name, value }) => [name, value])

describe('a table written in any style reads back', () => {
  /** No line breaks (a line is a setting) and no zero bytes; quotes, signs and blanks of all kinds may come. */
  const text = fc
    .string({
      unit: fc.oneof(
        fc.constantFrom(...'=:,;#"\'[]{}| \t.-/'),
        fc.string({ unit: 'grapheme', minLength: 1, maxLength: 1 }),
      ),
      maxLength: 12,
    })
    .map((written) => written.replaceAll(/[\r\n\u0000\uFEFF\u2028\u2029\u0085\v\f]/g, ''))
  const name = text.map((written) => written.trim()).filter((written) => written !== '')
  const value = text.map((written) => written.trim())
  const table = fc.uniqueArray(fc.tuple(name, value), {
    minLength: 1,
    maxLength: 12,
    selector: ([own]) => own,
  })
  const quoted = (written: string) => `"${written.replaceAll('"', '""')}"`
  /** As a careful writer does: quotes where a sign or blank could be taken for the format's own. */
  const bare = (written: string) =>
    /^[\p{L}\p{N}_%.-]+$/u.test(written) && !/^set$/i.test(written) ? written : quoted(written)
  const spaced = fc.constantFrom('', ' ', '  ')

  test.each([
    ['name = value', '='],
    ['name: value', ': '],
    ['name := value', ':='],
  ])('%s', (_style, sign) => {
    fc.assert(
      fc.property(table, spaced, spaced, (rows, before, behind) => {
        const lines = rows.map(
          ([own, said]) => `${bare(own)}${before}${sign}${behind}${said === '' ? '""' : bare(said)}`,
        )
        expect(read(lines.join('\n'))).toEqual(rows)
        expect(read(lines.map((line) => `set ${line}`).join('\r\n'))).toEqual(rows)
      }),
    )
  })

  test('set name value', () => {
    fc.assert(
      fc.property(table, (rows) => {
        const lines = rows.map(([own, said]) => `set ${quoted(own)} ${quoted(said)}`)
        expect(read(lines.join('\n'))).toEqual(rows)
      }),
    )
  })

  test.each([',', ';', '\t', '|'])('delimited by %j', (delimiter) => {
    fc.assert(
      fc.property(table, (rows) => {
        const lines = rows.map(([own, said]) => `${quoted(own)}${delimiter}${quoted(said)}`)
        expect(read(`"name"${delimiter}"value"\n${lines.join('\n')}\n`)).toEqual(rows)
      }),
    )
  })

  test('in sections', () => {
    const section = fc.stringMatching(/^[a-z][a-z0-9 _.-]{0,8}[a-z]$/)
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.tuple(section, table), { minLength: 1, maxLength: 4, selector: ([own]) => own }),
        (parts) => {
          const lines = parts.flatMap(([head, rows]) => [
            `[${head}]`,
            ...rows.map(([own, said]) => `${quoted(own)} = ${quoted(said)}`),
          ])
          const expected = new Map(
            parts.flatMap(([head, rows]) => rows.map(([own, said]) => [`${head}.${own}`, said])),
          )
          expect(new Map(read(lines.join('\n')) as [string, string][])).toEqual(expected)
        },
      ),
    )
  })

  test('JSON, nested to any depth, numbers as written', () => {
    // No backslash: this engine's JSON.parse takes some names with one for one another.
    const key = fc.stringMatching(/^[a-z"/ ]{1,6}$/)
    const leaf = fc.oneof(
      fc.string(),
      fc.boolean(),
      fc.constantFrom('1.50', '-0', '1e3', '12345678901234567890'),
    )
    const { tree } = fc.letrec<{ tree: unknown }>((tie) => ({
      tree: fc.dictionary(key, fc.oneof({ maxDepth: 4 }, leaf, tie('tree')), { minKeys: 1, maxKeys: 4 }),
    }))
    const isNumber = (one: unknown) => typeof one === 'string' && /^-?\d+(\.\d+)?(e\d+)?$/.test(one)
    const write = (one: unknown): string =>
      typeof one === 'object' && one !== null
        ? `{${Object.entries(one)
            .map(([own, inner]) => `${JSON.stringify(own)}: ${write(inner)}`)
            .join(', ')}}`
        : isNumber(one)
          ? String(one)
          : JSON.stringify(one)
    const flat = (one: unknown, above = ''): [string, string][] =>
      typeof one === 'object' && one !== null
        ? Object.entries(one).flatMap(([own, inner]) => flat(inner, above === '' ? own : `${above}.${own}`))
        : [[above, String(one)]]
    fc.assert(
      fc.property(tree, (written) => {
        expect(new Map(read(write(written)) as [string, string][])).toEqual(new Map(flat(written)))
      }),
    )
  })

  test('whatever stands in a text, nothing throws and every full line is settings or unread', () => {
    fc.assert(fc.property(fc.string({ unit: 'grapheme', maxLength: 300 }), (any) => void parseSheet(any)))
    fc.assert(
      fc.property(
        fc.array(fc.constantFrom('a = 1', '[s]', '# c', 'b: 2', 'word', '= 3', '', 'set', 'x,y')),
        (lines) => {
          const { settings, unread, style } = parseSheet(lines.join('\n'))
          const full = lines.filter(
            (line) => line !== '' && line !== '# c' && (style === 'delimited' || line !== '[s]'),
          ).length
          expect(
            new Set([...settings.map(({ line }) => line), ...unread.map(({ line }) => line)]).size,
          ).toBeLessThanOrEqual(full)
          expect(unread.every(({ text: left }) => left !== '')).toBe(true)
        },
      ),
    )
  })
})

describe('what people write', () => {
  test('comments, blanks, units and lists', () => {
    const text = `
# a comment
; another
// and another
roll P = 45   # behind a value
gyro low-pass: 120 Hz ; old
curve = [1, 2, 3]
title = "a # in quotes"   // here not
url = http://example.org/x
empty =
pilot's choice = it's mine
`
    expect(read(text)).toEqual([
      ['roll P', '45'],
      ['gyro low-pass', '120 Hz'],
      ['curve', '[1, 2, 3]'],
      ['title', 'a # in quotes'],
      ['url', 'http://example.org/x'],
      ['empty', ''],
      ["pilot's choice", "it's mine"],
    ])
  })

  test('parents by indentation', () => {
    expect(read('gains:\n  roll:\n    p: 4\n    i: 2\n  yaw:\n    p: 5\nidle: 7\nlast:\n')).toEqual([
      ['gains.roll.p', '4'],
      ['gains.roll.i', '2'],
      ['gains.yaw.p', '5'],
      ['idle', '7'],
      ['last', ''],
    ])
  })

  test('a colon inside a name does not part it where there is an equals sign', () => {
    expect(read('rates:roll = 3\nrates:pitch = 4')).toEqual([
      ['rates:roll', '3'],
      ['rates:pitch', '4'],
    ])
  })

  test('a list of named values, and broken JSON line by line', () => {
    expect(read('[{"name": "roll P", "value": 4.50}, {"name": "x", "value": [1, 2]}]')).toEqual([
      ['roll P', '4.50'],
      ['x', '1, 2'],
    ])
    expect(read('{\n"roll P": 4,\n"pitch P": 5,\n')).toEqual([
      ['roll P', '4'],
      ['pitch P', '5'],
    ])
  })

  test('a name that comes twice holds its last value, and is told', () => {
    const sheet = parseSheet('a = 1\nb = 2\na = 3')
    expect(sheet.settings.map(({ value }) => value)).toEqual(['3', '2'])
    expect(sheet.repeated).toEqual(['a'])
  })

  test('what says no setting is told with its line', () => {
    expect(parseSheet('a = 1\njust words\n= 3').unread).toEqual([
      { line: 2, text: 'just words' },
      { line: 3, text: '= 3' },
    ])
  })

  test('brackets nested by the ten thousand are some other text, and no fault', () => {
    expect(parseSheet('['.repeat(90_000) + ']'.repeat(90_000)).settings).toEqual([])
  })

  test('long hostile lines are read in no time', () => {
    const started = performance.now()
    parseSheet(`${'"'.repeat(50_000)}\n${'a = "'.repeat(20_000)}\n${' '.repeat(50_000)}x`)
    expect(performance.now() - started).toBeLessThan(2000)
  })
})

test('tells a sheet from a log and from prose', () => {
  expect(looksLikeSheet('roll P = 4\npitch P = 5')).toBe(true)
  expect(looksLikeSheet('{"roll": {"p": 4, "i": 3}}')).toBe(true)
  expect(looksLikeSheet('name,value\nroll P,4\npitch P,5')).toBe(true)
  expect(looksLikeSheet('time,gyro\n0,1\n0.001,2\n0.002,3')).toBe(false)
  expect(looksLikeSheet('A flight in the park.\nIt rained.\nAnd then: home.')).toBe(false)
  expect(looksLikeSheet('')).toBe(false)
  expect(looksLikeSheet('a = 1\nb = \0')).toBe(false)
})

test('values: numbers with units, lists, switches, text', () => {
  expect(readValue(' -1.5e3 ')).toEqual({ kind: 'number', number: -1500, unit: '' })
  expect(readValue('120Hz')).toEqual({ kind: 'number', number: 120, unit: 'Hz' })
  expect(readValue('50 %')).toEqual({ kind: 'number', number: 50, unit: '%' })
  expect(readValue('(1; 2; 3)')).toEqual({ kind: 'list', numbers: [1, 2, 3] })
  expect(readValue('1 2 3')).toEqual({ kind: 'list', numbers: [1, 2, 3] })
  expect(readValue('ON')).toEqual({ kind: 'switch', on: true })
  expect(readValue('1e999')).toEqual({ kind: 'text' })
  expect(readValue('')).toEqual({ kind: 'text' })
  expect(sameValue('1.0', '1')).toBe(true)
  expect(sameValue('1,2', '[1, 2]')).toBe(true)
  expect(sameValue('1 Hz', '1 kHz')).toBe(false)
  expect(sameValue('off', 'OFF')).toBe(true)
})
