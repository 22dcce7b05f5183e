import { describe, expect, test } from 'vitest'
import { csvCell, csvText } from '../../../workers/text/csv-out.ts'

describe('tables as CSV', () => {
  test('lines end in CRLF; commas, quotes and line breaks are quoted (RFC 4180, section 2, rules 1, 6 and 7)', () => {
    expect(csvText({ head: ['f, Hz', 'A "left"'], rows: [[1, 'two\nlines']] })).toBe(
      '"f, Hz","A ""left"""\r\n1,"two\nlines"\r\n',
    )
  })

  test('numbers stay numbers, signs and all; what is not finite is empty', () => {
    const cells = [-18.25, 0.1 + 0.2, 1e-9, Number.NaN, Infinity, null, -0, 1234567890123, Math.fround(0.1)]
    expect(cells.map(csvCell)).toEqual(['-18.25', '0.3', '1e-9', '', '', '', '0', '1234567890123', '0.1'])
  })

  test('text that is a number stays one', () => {
    for (const text of ['-18.0', '+3', '.5', '1e-3', '7']) expect(csvCell(text)).toBe(text)
  })

  test('text that begins like a formula is shown, not run', () => {
    expect(csvCell('=1+1')).toBe(`"'=1+1"`)
    expect(csvCell('=HYPERLINK("x")')).toBe(`"'=HYPERLINK(""x"")"`)
    for (const text of ['+A1', '-B2*2', '@SUM(A1)', '\t=1', '\r=1', ' =1', '＝1', '-', '--1', '-1-1'])
      expect(csvCell(text), JSON.stringify(text)).toMatch(/^"'/)
    for (const text of ['roll right', "can't tell", 'B − A', '−18', 'a=b', 'x@y', ''])
      expect(csvCell(text), text).toBe(text)
  })

  test('what was written is read back', () => {
    // A reader by the same RFC, written here on its own.
    const read = (text: string) =>
      [...text.trimEnd().matchAll(/("(?:[^"]|"")*"|[^,\r\n]*)(,|\r\n|$)/g)]
        .map(([, cell]) => (cell!.startsWith('"') ? cell!.slice(1, -1).replaceAll('""', '"') : cell!))
        .slice(0, 4)
    const cells = ['plain', 'a,b', 'say "no"', 'two\nlines']
    expect(
      read(
        csvText({ head: ['1', '2', '3', '4'], rows: [cells] })
          .split('\r\n')
          .slice(1)
          .join('\r\n'),
      ),
    ).toEqual(cells)
  })

  test('a row of another width is our own fault', () => {
    expect(() => csvText({ head: ['a', 'b'], rows: [[1]] })).toThrow('1 cells under 2')
  })
})
