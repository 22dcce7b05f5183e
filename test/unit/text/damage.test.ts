import { describe, expect, test } from 'vitest'
import { Problem } from '../../../workers/log/problems.ts'
import { readTable } from './tables.ts'

/** The Problem that reading this text ends in. */
async function problemOf(text: string): Promise<Problem> {
  try {
    await readTable(text)
  } catch (problem) {
    if (problem instanceof Problem) return problem
    throw problem
  }
  throw new Error('no problem')
}

describe('damaged tables say where', () => {
  const rows = '0,1,2\n1,2,3\n2,3,4\n'
  test('text in a number cell', async () => {
    const problem = await problemOf(`time,x,y\n${rows}3,four,5\n`)
    expect(problem.code).toBe('bad-number')
    expect(problem.place).toEqual({ file: 'table.csv', line: 5, column: 2, columnName: 'x' })
    expect(problem.message).toBe('table.csv, line 5, column 2 (x): "four" is not a number.')
  })

  test.each([
    ['3,4', 'table.csv, line 5 has too few cells: 2 where the header has 3.'],
    ['3,4,5,6', 'table.csv, line 5 has too many cells: 4 where the header has 3.'],
  ])('a row of %s', async (row, message) => {
    const problem = await problemOf(`time,x,y\n${rows}${row}\n4,5,6\n`)
    expect(problem.code).toBe('bad-row')
    expect(problem.message).toBe(message)
  })

  test('1e999 and zero bytes', async () => {
    expect((await problemOf(`time,x,y\n${rows}3,1e999,5\n`)).message).toContain(
      '"1e999" is larger than any number',
    )
    expect((await problemOf(`time,x,y\n${rows}3,\0\0,5\n`)).message).toContain('zero bytes')
    expect((await problemOf(`time,x,y\n${rows}\0\0\0\0\n4,5,6\n`)).message).toContain('zero bytes')
  })

  test('text in a column that nobody needs sets that column aside', async () => {
    const { parser, columns } = await readTable(`time,x,y\n${rows}3,four,5\n4,5,6\n`, { required: false })
    expect(parser.rows).toBe(5)
    expect(parser.setAside).toEqual([{ column: 1, line: 5, why: '"four" is not a number' }])
    expect(Array.from(columns[2] as Float64Array)).toEqual([2, 3, 4, 5, 6])
  })

  test('blank lines and comments among the rows are stepped over, and lines counted', async () => {
    const { parser } = await readTable(
      `time,x,y\n0,1,2\n\n# pause\n1,2,3\r\n   \n2,3,4\n`.replace('   \n', '\r\n'),
    )
    expect(parser.rows).toBe(3)
    expect(parser.line).toBe(8)
  })

  test('the header standing again marks a restart', async () => {
    const { parser, columns } = await readTable(`time,x,y\ns,m,m\n${rows}time,x,y\ns,m,m\n${rows}`)
    expect(parser.restarts).toEqual([3])
    expect(Array.from(columns[0] as Float64Array)).toEqual([0, 1, 2, 0, 1, 2])
  })

  test('names that are words of the language itself', async () => {
    const { shape, columns } = await readTable(`__proto__,constructor,x,x\n0,1,2,3\n1,2,3,4\n`)
    expect(shape.names).toEqual(['__proto__', 'constructor', 'x', 'x'])
    expect(Array.from(columns[0] as Float64Array)).toEqual([0, 1])
  })

  test('a quoted cell may hold separators and line ends', async () => {
    const text = 'time,note,x\n0,"a, b",1\n1,"two\nlines, ""quoted""",2\n2,c,bad\n'
    const { parser, columns } = await readTable(text, { required: false, slice: 5 })
    expect(Array.from(columns[0] as Float64Array)).toEqual([0, 1, 2])
    expect(parser.setAside.map((aside) => [aside.column, aside.line])).toEqual([
      [1, 2],
      [2, 5],
    ])
  })
})

describe('truncation', () => {
  const text = 'time,x,y\n0,1.25,-2\n1,-2.5,3.125\n2,3,4\n3,44.5,-55\n'
  test('at every byte gives a valid prefix of the rows', async () => {
    const whole = (await readTable(text)).columns
    const firstRow = text.indexOf('\n') + 1
    for (let end = firstRow + 8; end < text.length; end += 1) {
      const { columns, parser } = await readTable(text.slice(0, end))
      const complete = text.slice(firstRow, end).split('\n').length - 1
      expect(parser.rows).toBeGreaterThanOrEqual(complete)
      expect(parser.rows).toBeLessThanOrEqual(complete + 1)
      // A last line with all its cells is kept and pointed out; its last number may have lost digits.
      expect(parser.droppedLine !== null || parser.endedWithoutNewline).toBe(text[end - 1] !== '\n')
      columns.forEach((column, index) => {
        const known = index === 2 ? complete : parser.rows
        expect(Array.from(column.subarray(0, known))).toEqual(
          Array.from((whole[index] as Float64Array).subarray(0, known)),
        )
      })
    }
  })
})
