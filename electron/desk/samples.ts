import { createReadStream, createWriteStream } from 'node:fs'
import { rm } from 'node:fs/promises'
import { pipeline } from 'node:stream/promises'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { ColumnFileLayout, Inspection } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { readColumnValues } from '../intake/column-file.ts'
import { readLog } from '../intake/intake.ts'

/** Rows shown of a column before its meaning is settled: some seconds. */
export const SAMPLE_ROWS = 4000
/** How much of a file is read for that. */
const HEAD_BYTES = 2 << 20
/** A typed table can't be read in part: up to this size it is read whole. */
const MOST_TYPED_BYTES = 64 << 20

/** The first rows of a file that is not indexed yet, stored as columns. */
export interface HeadColumns {
  readonly columnFile: string
  readonly layout: ColumnFileLayout
}

/**
 * Stores the beginning of a waiting file as columns under `columnFile`, whatever they mean, so that a pilot sees what a
 * choice of meaning, unit or sign does before the whole is read.
 * @throws Problem when the beginning can't be read as a table, or has no column of numbers; 'cancelled'
 */
export async function readHead(
  path: string,
  inspection: Inspection,
  columnFile: string,
  signal?: AbortSignal,
): Promise<HeadColumns> {
  const first = inspection.columns.find((column) => column.type !== 'text')
  if (!first) throw new Problem('no-columns', `${inspection.fileName} has no column of numbers.`)
  const isTyped = (inspection.dialect.format ?? 'text') !== 'text'
  if (isTyped && inspection.bytes > MOST_TYPED_BYTES) {
    throw new Problem('too-large', `${inspection.fileName} is too large to be shown before it is added.`)
  }
  // Any column will do as the clock: only what is stored counts here.
  const clock: Assignment = {
    role: 'time',
    column: first.index,
    name: first.name,
    unit: 's',
    sign: 1,
    sure: 'guess',
    setBy: 'program',
    how: 'To see the first rows.',
  }
  const head = `${columnFile}.head`
  try {
    // A packed file that ends too early, and a line that is cut off, are read as far as they go.
    if (!isTyped) await pipeline(createReadStream(path, { end: HEAD_BYTES - 1 }), createWriteStream(head))
    const { layout } = await readLog(isTyped ? path : head, {
      fileName: inspection.fileName,
      columnFile,
      assignments: [clock],
      ...(signal ? { signal } : {}),
    })
    return { columnFile, layout }
  } finally {
    await rm(head, { force: true })
  }
}

/**
 * Rows of a stored column as 64-bit numbers, little-endian, as the file has them.
 * @param around the row in the middle; the last rows unless given
 * @throws Problem not-found for a column without numbers
 */
export async function sampleOf(
  { columnFile, layout }: HeadColumns,
  column: number,
  around: number | null,
): Promise<Uint8Array> {
  const values = await readColumnValues(columnFile, layout, column)
  const last = Math.max(0, values.length - SAMPLE_ROWS)
  const from = around === null ? last : Math.min(last, Math.max(0, Math.round(around - SAMPLE_ROWS / 2)))
  const sample = Float64Array.from(values.subarray(from, from + SAMPLE_ROWS))
  return new Uint8Array(sample.buffer)
}

/** The row in the middle of the busiest step of a flight's picture; null when it shows no turning. */
export function busiestRow(
  turn_dps: readonly (number | null)[] | null | undefined,
  rows: { readonly from: number; readonly to: number },
): number | null {
  if (!turn_dps) return null
  let busiest = -1
  turn_dps.forEach((turn, step) => {
    if (turn !== null && (busiest < 0 || turn > (turn_dps[busiest] as number))) busiest = step
  })
  if (busiest < 0) return null
  return rows.from + ((busiest + 0.5) / turn_dps.length) * (rows.to - rows.from)
}
