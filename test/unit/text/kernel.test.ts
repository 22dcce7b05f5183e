import { describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { compileKernel } from '../../../electron/build-kernels.ts'
import {
  F32,
  growMemory,
  makeKernel,
  makeMemory,
  planMemory,
} from '../../../workers/text/kernel/rows-kernel.ts'
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

test('blocks of a level hold the smallest and largest finite values', () => {
  const value = fc.oneof(fc.float({ noNaN: true }), fc.constantFrom(NaN, Infinity, -Infinity))
  fc.assert(
    fc.property(fc.array(value, { minLength: 1, maxLength: 300 }), (values) => {
      const plan = planMemory(1, 0, 1, 320)
      const memory = makeMemory(plan.text)
      growMemory(memory, plan.text + 64)
      const kernel = makeKernel(memory, () => NaN)
      new Float32Array(memory.buffer, plan.f32[0]).set(values)
      kernel.levelOf(plan.f32[0], values.length, plan.levelMin[0], plan.levelMax[0])
      for (let block = 0; block * 64 < values.length; block += 1) {
        const finite = values.slice(block * 64, block * 64 + 64).filter(Number.isFinite)
        const min = new Float32Array(memory.buffer, plan.levelMin[0])[block] as number
        const max = new Float32Array(memory.buffer, plan.levelMax[0])[block] as number
        expect(min + 0).toBe(finite.length > 0 ? Math.min(...finite) + 0 : NaN)
        expect(max + 0).toBe(finite.length > 0 ? Math.max(...finite) + 0 : NaN)
      }
    }),
  )
  expect(F32).toBe(1)
})

test('the compiled kernel is what its source says', { timeout: 60_000 }, async () => {
  expect(Buffer.from(await compileKernel('rows')).toString('base64')).toBe(ROWS_WASM)
})
