import { describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { compileKernel } from '../../../electron/build-kernels.ts'
import { makeKernel, makeMemory, planMemory } from '../../../workers/text/kernel/rows-kernel.ts'
import { ROWS_WASM } from '../../../workers/text/kernel/rows-wasm.ts'
import type { CellTarget } from '../../../workers/text/row-parser.ts'
import { readTable } from './tables.ts'

/** Reads cells as the second of two columns. */
async function readCells(cells: readonly string[], target: CellTarget): Promise<number[]> {
  const text = `k,v\n${cells.map((cell, index) => `${index},${cell}\n`).join('')}`
  const { columns } = await readTable(text, { target })
  return Array.from(columns[1] as Float64Array)
}

/** Decimals of every length, with and without sign, fraction and exponent: what the engine's Number() reads. */
const decimal = fc
  .record({
    sign: fc.constantFrom('', '-', '+'),
    whole: fc.stringMatching(/^[0-9]{0,12}$/),
    fraction: fc.stringMatching(/^[0-9]{1,14}$/),
    dot: fc.boolean(),
    exponent: fc.oneof(
      fc.constant(''),
      fc.integer({ min: -30, max: 25 }).map((power) => `e${power}`),
      fc.constant('E+3'),
    ),
  })
  .map(
    ({ sign, whole, fraction, dot, exponent }) =>
      `${sign}${dot ? `${whole}.${fraction}` : `${whole}1`}${exponent}`,
  )

describe('the kernel agrees with Number()', () => {
  test('for doubles, to the last bit', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(decimal, { minLength: 3, maxLength: 40 }), async (cells) => {
        expect(await readCells(cells, 'f64')).toEqual(cells.map(Number))
      }),
      { numRuns: 300 },
    )
  })

  test('for singles, rounded once more', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(decimal, { minLength: 3, maxLength: 40 }), async (cells) => {
        const expected = cells.map((cell) => Math.fround(Number(cell)))
        expect(await readCells(cells, 'f32')).toEqual(expected)
      }),
      { numRuns: 300 },
    )
  })

  test('for singles at and beside the middle between two of them, the hardest cells to round', async () => {
    // Middles have few binary digits: written out in full they are exact, and a last digit more or less tips them.
    const middle = fc.float({ min: Math.fround(1e-3), max: Math.fround(1e6), noNaN: true }).map((single) => {
      const next = new Float32Array([single])
      new Uint32Array(next.buffer)[0] = (new Uint32Array(next.buffer)[0] as number) + 1
      return (single + (next[0] as number)) / 2
    })
    const cell = fc
      .tuple(middle, fc.constantFrom(-1, 0, 1), fc.integer({ min: 17, max: 19 }))
      .map(([value, tip, digits]) => {
        const text = value.toPrecision(digits)
        if (tip === 0 || text.includes('e')) return text
        const last = Math.min(9, Math.max(0, Number(text.at(-1)) + tip))
        return `${text.slice(0, -1)}${last}`
      })
    await fc.assert(
      fc.asyncProperty(fc.array(cell, { minLength: 5, maxLength: 40 }), async (cells) => {
        expect(await readCells(cells, 'f32')).toEqual(cells.map((text) => Math.fround(Number(text))))
      }),
      { numRuns: 300 },
    )
  })

  test('for exact differences of stamps with and without decimals', async () => {
    const origin = 1_700_000_000_000_000_000n
    const offsets = fc.array(fc.bigInt(-(2n ** 52n), 2n ** 52n), { minLength: 3, maxLength: 40 })
    await fc.assert(
      fc.asyncProperty(offsets, fc.integer({ min: 0, max: 9 }), async (found, places) => {
        const digits = found.map((offset) => String(origin + offset))
        const cells = digits.map((text) =>
          places === 0 ? text : `${text.slice(0, -places)}.${text.slice(-places)}`,
        )
        const expected = found.map((offset) => Number(`${offset - (found[0] as bigint)}e-${places}`) + 0)
        expect((await readCells(cells, 'f64-origin')).map((value) => value + 0)).toEqual(expected)
      }),
    )
  })

  test.each([
    '',
    ' ',
    '1.',
    '.',
    '-',
    '1e',
    '1e+',
    '0x10',
    '1_000',
    '１',
    '1 2',
    '"1"',
    '+.5',
    '-.5e-3',
    '00012',
    '1e400',
  ])('the odd cell %j is read or refused as cellNumber does', async (cell) => {
    const { columns, parser } = await readTable(`k,v\n0,1\n1,${cell}\n2,3\n`, { required: false })
    const number = Number(cell.trim().replaceAll('"', ''))
    const isNumber = cell.trim() !== '' && Number.isFinite(number) && !cell.includes('x')
    expect(parser.setAside.length).toBe(isNumber || ['', ' ', '-'].includes(cell) ? 0 : 1)
    if (isNumber) expect(columns[1]?.[1]).toBe(number)
    else expect(columns[1]?.[1]).toBeNaN()
  })
})

describe('cells side by side, which are read two at a time', () => {
  const short = fc
    .record({
      sign: fc.constantFrom('', '', '-'),
      digits: fc.stringMatching(/^[0-9]{1,8}$/),
      place: fc.integer({ min: 0, max: 8 }),
    })
    .map(({ sign, digits, place }) => {
      const whole = digits.slice(0, -place)
      return place === 0 ? `${sign}${digits}` : `${sign}${whole}.${digits.slice(-place)}`
    })
  const rare = fc.constantFrom('', '-0', '-0.0', '1e3', '+5', ' 7', '123456789', '-12345678', '8388608.5')
  const cell = fc.oneof({ weight: 12, arbitrary: short }, { weight: 1, arbitrary: rare })
  const table = fc.integer({ min: 3, max: 9 }).chain((columns) =>
    fc.array(fc.array(cell, { minLength: columns, maxLength: columns }), {
      minLength: 1,
      maxLength: 120,
    }),
  )

  test.each([
    { separator: ',', decimal: '.', newline: '\n' },
    { separator: ',', decimal: '.', newline: '\r\n' },
    { separator: ';', decimal: ',', newline: '\n' },
    { separator: '\t', decimal: '.', newline: '\r\n' },
  ])('are what Number() reads, in whatever slices they come: $separator $decimal', async (dialect) => {
    const { separator, decimal, newline } = dialect
    await fc.assert(
      fc.asyncProperty(table, fc.integer({ min: 1, max: 400 }), async (rows, slice) => {
        const names = rows[0]!.map((_, column) => `c${column}`)
        const plain = ['1.5', '2.5', '-3.5'].map((text) => names.map(() => text))
        const lines = [...plain, ...rows].map((row) => row.join(separator).replaceAll('.', decimal))
        const text = `${names.join(separator)}${newline}${lines.map((line) => `${line}${newline}`).join('')}`
        const { columns } = await readTable(text, { slice, target: 'f32', groupRows: 64 })
        const expected = names.map((_, column) =>
          [...plain, ...rows].map((row) => {
            const written = row[column] as string
            return written === '' ? NaN : Math.fround(Number(written))
          }),
        )
        expect(columns.map((values) => Array.from(values))).toEqual(expected)
      }),
      { numRuns: 60 },
    )
  })

  test.each(['1.2.3', '.', '-.', '1-2', '--1', '1.-2', '12a', ':1', '/1'])('refuse %j', async (odd) => {
    for (const column of [1, 2, 3]) {
      const row = ['1.5', '2.5', '3.5', '4.5', '5.5']
      const line = row.with(column, odd).join(',')
      const { parser } = await readTable(`a,b,c,d,e\n${`${row.join(',')}\n`.repeat(9)}${line}\n`, {
        target: 'f32',
        required: false,
      })
      expect(parser.setAside).toMatchObject([{ column, line: 11 }])
    }
  })

  test('count as before when one is missing or too many', async () => {
    const row = '1.5,2.5,3.5,4.5,5.5'
    for (const odd of ['1.5,2.5,3.5,4.5', `${row},6.5`, '1.5,2.5,,4.5\n']) {
      const text = `a,b,c,d,e\n${`${row}\n`.repeat(9)}${odd}\n${row}\n`
      await expect(readTable(text, { target: 'f32' })).rejects.toMatchObject({
        code: 'bad-row',
        place: { line: 11 },
      })
    }
  })
})

test('a group gets its rows, the smallest and largest finite values of each block, and of all', () => {
  const value = fc.oneof(fc.float({ noNaN: true }), fc.constantFrom(NaN, Infinity, -Infinity))
  fc.assert(
    fc.property(fc.array(value, { minLength: 1, maxLength: 300 }), (values) => {
      const plan = planMemory(1, 0, 1, 320)
      const memory = makeMemory(plan.text)
      const kernel = makeKernel(memory, () => NaN)
      new Float32Array(memory.buffer, plan.batch32).set(values)
      new Float64Array(memory.buffer, plan.ranges).set([Infinity, -Infinity])
      const [to, minAt, maxAt] = [plan.f32[0], plan.levelMin[0], plan.levelMax[0]]
      kernel.spill32(1, values.length, plan.batch32, 0, to, 0, minAt, maxAt, 0, plan.ranges)
      const extremes = (some: number[]): number[] => {
        const finite = some.filter(Number.isFinite)
        return [Math.min(...finite) + 0, Math.max(...finite) + 0]
      }
      expect([...new Float32Array(memory.buffer, to, values.length)]).toEqual(values)
      expect([...new Float64Array(memory.buffer, plan.ranges, 2)].map((one) => one + 0)).toEqual(
        extremes(values),
      )
      for (let block = 0; block * 64 < values.length; block += 1) {
        const [least, most] = extremes(values.slice(block * 64, block * 64 + 64)) as [number, number]
        const min = new Float32Array(memory.buffer, minAt)[block] as number
        const max = new Float32Array(memory.buffer, maxAt)[block] as number
        expect([min + 0, max + 0]).toEqual(least <= most ? [least, most] : [NaN, NaN])
      }
    }),
  )
})

test('memory that another used reads the same as fresh memory', async () => {
  const line = (row: number): string => `${row},${row / 7},,-${row}e-2,${row % 3 === 0 ? 'n/a' : row}`
  const text = `a,b,c,d,e\n${Array.from({ length: 300 }, (_, row) => line(row)).join('\n')}\n`
  const memory = makeMemory(1 << 20)
  for (const target of ['f32', 'f64', 'f64-origin'] as const) {
    new Uint8Array(memory.buffer).fill(0xa5)
    const fresh = await readTable(text, { target, required: false })
    const used = await readTable(text, { target, required: false, memory })
    expect(used.columns).toEqual(fresh.columns)
    expect([used.parser.min, used.parser.max]).toEqual([fresh.parser.min, fresh.parser.max])
    expect(used.parser.setAside).toEqual(fresh.parser.setAside)
  }
})

test('the compiled kernel is what its source says', { timeout: 60_000 }, async () => {
  expect(Buffer.from(await compileKernel('rows')).toString('base64')).toBe(ROWS_WASM)
})
