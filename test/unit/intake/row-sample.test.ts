import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { sampleRows, sampleStretches } from '../../../electron/intake/row-sample.ts'
import type { ColumnFileLayout } from '../../../workers/log/log.ts'

const folder = mkdtempSync(join(tmpdir(), 'twopack-sample-'))
afterAll(() => rmSync(folder, { recursive: true }))

describe('which rows make the sample', () => {
  test('a short file is kept whole, in stretches that follow one another', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 16 * 8192 }), (rows) => {
        let end = 0
        for (const { from, to } of sampleStretches(rows, 12)) {
          expect(from).toBe(end)
          end = to
        }
        expect(end).toBe(rows)
      }),
      { numRuns: 50 },
    )
  })

  test('a long file is kept in whole stretches that reach all over it', () => {
    for (const rows of [16 * 8192 + 1, 300_000, 1_000_003]) {
      const stretches = sampleStretches(rows, 12)
      expect(stretches.length).toBeGreaterThan(7)
      expect(stretches.length).toBeLessThanOrEqual(16)
      expect(stretches[0]?.from).toBe(0)
      expect(stretches.at(-1)?.to).toBeGreaterThan(0.8 * rows)
      const steps = new Set(stretches.slice(1).map(({ from }, index) => from - (stretches[index]?.from ?? 0)))
      expect(steps.size).toBe(1)
      for (const { from, to } of stretches) expect(to).toBe(Math.min(rows, from + 8192))
    }
  })

  test('rows of very many columns are few', () => {
    const stretches = sampleStretches(10_000, 400_000)
    expect(stretches.map(({ from, to }) => to - from)).toEqual(stretches.map(() => 4))
  })
})

/** A column file in which the value at a row and a place among the columns tells both. */
function made(rows: number, groupRows: number, wide: number, narrow: number): [string, ColumnFileLayout] {
  const columns = [
    ...Array.from({ length: wide }, (_, place) => ({ index: 2 * place, type: 'f64' as const })),
    ...Array.from({ length: narrow }, (_, place) => ({ index: 2 * place + 1, type: 'f32' as const })),
  ]
  const parts: Uint8Array[] = []
  for (let row = 0; row < rows; row += groupRows) {
    for (const { index, type } of columns) {
      const values = Array.from({ length: Math.min(groupRows, rows - row) }, (_, at) =>
        value(row + at, index),
      )
      parts.push(new Uint8Array((type === 'f64' ? Float64Array : Float32Array).from(values).buffer))
    }
  }
  const path = join(folder, `${rows}-${groupRows}-${wide}-${narrow}`)
  writeFileSync(path, Buffer.concat(parts))
  return [path, { format: 1, rows, groupRows, columns }]
}
const value = (row: number, index: number): number => 1024 * (row % 4096) + (index % 1024)

describe('the sample out of a column file', () => {
  test.each([
    ['groups read column by column', 5000, 1984, 2, 3],
    ['groups read many columns at once', 900, 64, 3, 40],
    ['more columns than are read at once', 200, 64, 2, 2500],
    ['one short group', 50, 64, 1, 1],
  ])('%s', (_, rows, groupRows, wide, narrow) => {
    const [path, layout] = made(rows, groupRows, wide, narrow)
    const stretches = [
      { from: 0, to: 5 },
      { from: 30, to: Math.min(rows, 200) },
      { from: rows - 3, to: rows },
    ]
    const wanted = stretches.flatMap(({ from, to }) =>
      Array.from({ length: to - from }, (_, at) => from + at),
    )
    const samples = Array.from({ length: 2 * (wide + narrow) }, () => new Float64Array(wanted.length))
    // One column is not wanted.
    const asked = samples.map((sample, index) => (index === 1 ? null : sample))
    sampleRows(path, layout, stretches, asked)
    for (const { index } of layout.columns) {
      const expected = index === 1 ? wanted.map(() => 0) : wanted.map((row) => value(row, index))
      expect(Array.from(samples[index] as Float64Array)).toEqual(expected)
    }
  })
})
