import type { ColumnFileLayout } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { readColumnValues, readFirsts, readLevel } from '../intake/column-file.ts'

/**
 * The stored extremes of a flight's column as bytes: of a 32-bit column first the smallest, then the largest value of
 * each block; of a 64-bit one, such as the clock, the first value of each block. Blocks that the flight shares with
 * its neighbours in the log are given whole.
 * @param rows the flight's rows; null for all
 * @throws Problem not-found where no extremes are stored
 */
export async function levelOf(
  columnFile: string,
  layout: ColumnFileLayout,
  column: number,
  rows: { readonly from: number; readonly to: number } | null,
): Promise<Uint8Array> {
  const { level } = layout
  if (!level) throw new Problem('not-found', 'No extremes are stored for that log.')
  const first = Math.floor((rows?.from ?? 0) / level.block)
  const end = Math.ceil((rows?.to ?? layout.rows) / level.block)
  const stored = await readLevel(columnFile, layout, column)
  if (stored) {
    const both = new Float32Array(2 * (end - first))
    both.set(stored.min.subarray(first, end))
    both.set(stored.max.subarray(first, end), end - first)
    return new Uint8Array(both.buffer)
  }
  const firsts = await readFirsts(columnFile, layout, column)
  if (firsts) return new Uint8Array(firsts.slice(first, end).buffer)
  // A log from before these were stored.
  const values = await readColumnValues(columnFile, layout, column)
  const picked = Float64Array.from({ length: end - first }, (_, block) =>
    Number(values[(first + block) * level.block]),
  )
  return new Uint8Array(picked.buffer)
}
