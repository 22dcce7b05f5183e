import { closeSync, openSync } from 'node:fs'
import type { ColumnFileLayout } from '../../workers/log/log.ts'
import { bytesOf, fillNow, rowBytesOf } from './column-file.ts'

const MOST_STRETCH_ROWS = 8192
const MOST_STRETCHES = 16
/** Bytes of the rows of a sample as they are stored. */
const SAMPLE_BYTES = 4 << 20
/** Columns whose rows in a group take less than this are read many at a time: each reading costs more than its bytes. */
const SMALL_PLANE = 4 << 10
const BITE = 256 << 10

/** Rows [from, to). */
export interface RowStretch {
  readonly from: number
  readonly to: number
}

/** Whole stretches of rows, spread evenly over a file from its beginning on: at most 16, of bounded size together. */
export function sampleStretches(rows: number, rowBytes: number): RowStretch[] {
  const length = Math.max(
    4,
    Math.min(MOST_STRETCH_ROWS, Math.floor(SAMPLE_BYTES / MOST_STRETCHES / rowBytes)),
  )
  let step = length
  while (Math.ceil(rows / step) > MOST_STRETCHES) step *= 2
  const stretches: RowStretch[] = []
  for (let from = 0; from < rows; from += step) stretches.push({ from, to: Math.min(rows, from + length) })
  return stretches
}

/**
 * Reads these rows of the columns from a column file. It is done when the whole is written, so that the rows need no
 * memory of their own before.
 * @param samples to be filled, as long as the stretches together, by the columns' indices in the log; null for a column that is not wanted
 */
export function sampleRows(
  path: string,
  layout: ColumnFileLayout,
  stretches: readonly RowStretch[],
  samples: readonly (Float64Array<ArrayBuffer> | null)[],
): void {
  const file = openSync(path, 'r')
  try {
    const bite = new ArrayBuffer(BITE)
    let at = 0
    for (const stretch of stretches) {
      for (const part of inGroups(stretch, layout.groupRows)) {
        readPart(file, path, layout, part, bite, samples, at)
        at += part.to - part.from
      }
    }
  } finally {
    closeSync(file)
  }
}

/** A stretch's parts that lie in one group each. */
function inGroups({ from, to }: RowStretch, groupRows: number): RowStretch[] {
  const parts: RowStretch[] = []
  for (let row = from; row < to;) {
    const end = Math.min(to, row - (row % groupRows) + groupRows)
    parts.push({ from: row, to: end })
    row = end
  }
  return parts
}

/** Reads the rows of every column from one group, to stand at `at` in the samples. */
function readPart(
  file: number,
  path: string,
  { columns, rows, groupRows }: ColumnFileLayout,
  { from, to }: RowStretch,
  bite: ArrayBuffer,
  samples: readonly (Float64Array<ArrayBuffer> | null)[],
  at: number,
): void {
  const group = from - (from % groupRows)
  const groupLength = Math.min(groupRows, rows - group)
  let place = group * rowBytesOf(columns)
  for (let next = 0; next < columns.length;) {
    const column = columns[next] as (typeof columns)[number]
    const width = bytesOf(column)
    const plane = width * groupLength
    const atOnce = plane < SMALL_PLANE ? Math.floor(BITE / plane) : 1
    const alike = columns.slice(next, next + atOnce).filter(({ type }) => type === column.type)
    const skipped = width * (from - group)
    const start = alike.length > 1 ? 0 : skipped
    const length = alike.length > 1 ? plane * alike.length : width * (to - from)
    fillNow(file, path, new Uint8Array(bite, 0, length), place + start)
    alike.forEach(({ index }, nth) => {
      const first = nth * plane + skipped - start
      const values =
        width === 8 ? new Float64Array(bite, first, to - from) : new Float32Array(bite, first, to - from)
      samples[index]?.set(values, at)
    })
    place += plane * alike.length
    next += alike.length
  }
}
