import { expect, test } from 'vitest'
import fc from 'fast-check'
import { RowSample } from '../../../electron/intake/row-sample.ts'
import type { StoredColumn } from '../../../workers/log/log.ts'

const columns: StoredColumn[] = [
  { index: 0, type: 'f64' },
  { index: 1, type: 'f32' },
]

/** Feeds rows 0..total-1 in groups; both columns hold the row's number. */
function sampled(total: number, groupRows: number): Float64Array {
  const sample = new RowSample(columns, groupRows)
  const f64 = new Float64Array(groupRows)
  const f32 = new Float32Array(groupRows)
  for (let from = 0; from < total; from += groupRows) {
    const rows = Math.min(groupRows, total - from)
    for (let row = 0; row < rows; row += 1) f64[row] = f32[row] = from + row
    sample.add({ rows, f64, f32, levelMin: f32, levelMax: f32 })
  }
  expect(Array.from(sample.values(1))).toEqual(Array.from(sample.values(0)))
  return sample.values(0)
}

test('a short file is kept whole, in order', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 20_000 }),
      fc.integer({ min: 100, max: 9000 }),
      (total, groupRows) => {
        expect(Array.from(sampled(total, groupRows))).toEqual(Array.from({ length: total }, (_, row) => row))
      },
    ),
    { numRuns: 20 },
  )
})

test('a long file is kept in whole stretches that reach all over it', () => {
  for (const total of [300_000, 1_000_003]) {
    const rows = sampled(total, 65_520)
    expect(rows.length).toBeLessThanOrEqual(16 * 8192)
    expect(rows.length).toBeGreaterThan(7 * 8192)
    const starts = rows.filter((row, index) => index > 0 && row !== (rows[index - 1] as number) + 1)
    const gaps = starts.map((row) => row % 8192)
    expect(gaps.every((rest) => rest === 0)).toBe(true)
    expect(rows.at(-1)).toBeGreaterThan(0.8 * total)
    expect(rows[0]).toBe(0)
  }
})
