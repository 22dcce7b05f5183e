import { describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { Problem } from '../../../workers/log/problems.ts'
import { sniffTable } from '../../../workers/text/sniff.ts'
import { readTable } from './tables.ts'

const SEPARATORS = [',', ';', '\t', '|', ' '] as const

/** Doubles as a logger may write them: plainly, in exponents, rounded, with a plus, or missing. */
const cell = fc.oneof(
  { weight: 6, arbitrary: fc.double({ min: -1e6, max: 1e6, noNaN: true }).map((v) => v.toFixed(4)) },
  { weight: 3, arbitrary: fc.integer({ min: -100_000, max: 100_000 }).map(String) },
  { weight: 2, arbitrary: fc.double({ noNaN: true, noDefaultInfinity: true }).map(String) },
  { weight: 1, arbitrary: fc.double({ min: -1e9, max: 1e9, noNaN: true }).map((v) => v.toExponential(8)) },
  { weight: 1, arbitrary: fc.constantFrom('nan', 'NaN') },
)

interface Written {
  text: string
  numbers: number[][]
  names: string[]
  separator: string
  decimal: '.' | ','
  headerLine: number
}

/** A table written in some dialect, with the numbers that it says. */
const written: fc.Arbitrary<Written> = fc
  .record({
    width: fc.integer({ min: 2, max: 7 }),
    separator: fc.constantFrom(...SEPARATORS),
    comma: fc.boolean(),
    newline: fc.constantFrom('\n', '\r\n', '\r'),
    quoteNames: fc.boolean(),
    quoteCells: fc.boolean(),
    preamble: fc.array(fc.constantFrom('# craft = test', 'rate: 1000', '// made by hand', ''), {
      maxLength: 4,
    }),
    unitsRow: fc.boolean(),
    trailing: fc.boolean(),
    lastNewline: fc.boolean(),
    spaces: fc.boolean(),
  })
  .chain((style) =>
    fc
      .array(fc.array(cell, { minLength: style.width, maxLength: style.width }), {
        minLength: 3,
        maxLength: 30,
      })
      .map((rows): Written => {
        const { separator, width } = style
        const decimal = style.comma && separator !== ',' ? ',' : '.'
        const names = Array.from({ length: width }, (_, k) =>
          style.quoteNames ? `Value ${k} (m)` : `value_${k}`,
        )
        const quoted = (text: string, yes: boolean): string => (yes ? `"${text}"` : text)
        const gap = style.spaces && (separator === ',' || separator === ';') ? ' ' : ''
        const line = (cells: string[]): string =>
          cells.join(separator + gap) + (style.trailing && separator !== ' ' ? separator : '')
        // A first cell that the sniffer can tell from a name.
        const cells = rows.map((row, index) => [String(index), ...row.slice(1)])
        const lines = [
          ...style.preamble,
          line(names.map((name) => quoted(name, style.quoteNames))),
          ...(style.unitsRow ? [line(names.map(() => 'm'))] : []),
          ...cells.map((row) =>
            line(row.map((text) => quoted(text.replace('.', decimal), style.quoteCells))),
          ),
        ]
        return {
          text: lines.join(style.newline) + (style.lastNewline ? style.newline : ''),
          numbers: cells.map((row) => row.map(Number)),
          names,
          separator,
          decimal,
          headerLine: style.preamble.length + 1,
        }
      }),
  )

/** Columns with no fraction and no exponent anywhere don't show the decimal sign. */
const showsDecimal = (table: Written): boolean =>
  /\d[.,]\d/.test(
    table.text
      .split(/[\r\n]+/)
      .slice(-3)
      .join(''),
  )

describe('a table in any dialect', () => {
  test('reads back to the last bit, in doubles and in singles, whatever the slices', async () => {
    await fc.assert(
      fc.asyncProperty(written, fc.integer({ min: 1, max: 300 }), async (table, slice) => {
        const { shape, columns, parser } = await readTable(table.text, { slice })
        expect(shape.names).toEqual(table.names)
        expect(shape.dialect.separator).toBe(table.separator)
        if (showsDecimal(table)) expect(shape.dialect.decimal).toBe(table.decimal)
        expect(shape.dialect.headerLine).toBe(table.headerLine)
        expect(parser.rows).toBe(table.numbers.length)
        columns.forEach((column, index) => {
          expect(Array.from(column)).toEqual(table.numbers.map((row) => row[index]))
        })
      }),
      { numRuns: 400 },
    )
  })

  test('singles are the doubles rounded once', async () => {
    const small = fc.double({ min: -1e30, max: 1e30, noNaN: true })
    await fc.assert(
      fc.asyncProperty(fc.array(small, { minLength: 3, maxLength: 40 }), async (values) => {
        const text = `k,v\n${values.map((value, index) => `${index},${value}`).join('\n')}\n`
        const [, column] = (await readTable(text, { target: 'f32' })).columns
        expect(Array.from(column as Float64Array)).toEqual(values.map((value) => Math.fround(value + 0)))
      }),
    )
  })
})

describe('the first look at a text', () => {
  const shape = (text: string): ReturnType<typeof sniffTable> => sniffTable(text, true, 'log.csv')

  test('preamble, units row and quoted names', async () => {
    const found = shape(
      'craft,Red five\n# roll gain = 0.45\nbuilt: in May\nloose words\n\n"time","gyro, roll"\n[us],[deg/s]\n0,1.5\n250,2.5\n500,3\n',
    )
    expect(found.preamble).toEqual([
      { name: 'craft', value: 'Red five' },
      { name: 'roll gain', value: '0.45' },
      { name: 'built', value: 'in May' },
      { name: '', value: 'loose words' },
    ])
    expect(found.names).toEqual(['time', 'gyro, roll'])
    expect(found.unitTexts).toEqual(['[us]', '[deg/s]'])
    expect([found.dialect.headerLine, found.dialect.firstDataLine]).toEqual([6, 8])
  })

  test('a long preamble of numbers does not pass for the table', async () => {
    const settings = Array.from({ length: 200 }, (_, k) => `setting_${k},${k}`).join('\n')
    const found = shape(`${settings}\ntime,x,y\n0,1,2\n1,2,3\n2,3,4\n3,4,5\n`)
    expect(found.names).toEqual(['time', 'x', 'y'])
    expect(found.preamble.length).toBe(200)
  })

  test('a preamble of two cells above a table of two columns', async () => {
    const found = shape('rate,360\ngain,4\ntime,value\n0,1\n1,2\n2,3\n')
    expect(found.names).toEqual(['time', 'value'])
    expect(found.preamble).toEqual([
      { name: 'rate', value: '360' },
      { name: 'gain', value: '4' },
    ])
  })

  test('a commented header, and no header at all', async () => {
    expect(shape('# t x y\n0 1 2\n1 2 3\n').names).toEqual(['t', 'x', 'y'])
    const bare = shape('0;1;2\n1;2;3\n')
    expect(bare.dialect.headerLine).toBe(0)
    expect(bare.names).toEqual(['Column 1', 'Column 2', 'Column 3'])
  })

  test('a damaged first row is not taken for the header', async () => {
    expect(shape('t,x,y\n0,oops,2\n1,2,3\n2,3,4\n').dialect).toMatchObject({
      headerLine: 1,
      firstDataLine: 2,
    })
  })

  test.each([
    ['', 'empty-file'],
    [' \n\n', 'empty-file'],
    ['time,x,y\n', 'too-short'],
    ['just some words\nand more words\nand a poem\nof four lines', 'no-columns'],
  ])('%j: %s', (text, code) => {
    expect(() => shape(text)).toThrow(Problem)
    try {
      shape(text)
    } catch (problem) {
      expect((problem as Problem).code).toBe(code)
    }
  })
})
