import { readSync } from 'node:fs'
import { open, type FileHandle } from 'node:fs/promises'
import { endianness } from 'node:os'
import type { ColumnFileLayout, StoredColumn } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { LEVEL_BLOCK } from '../../workers/text/kernel/rows-kernel.ts'

export type { ColumnFileLayout, StoredColumn } from '../../workers/log/log.ts'

if (endianness() !== 'LE') throw new Error(`column files are little-endian, this machine is ${endianness()}`)

/** Memory that one group of rows may take. */
const GROUP_BYTES = 2 << 20
const MOST_GROUP_ROWS = 1023 * LEVEL_BLOCK

/**
 * Rows per group for this many bytes a row: an odd number of blocks of 64, so that blocks don't straddle groups and
 * neighbouring columns do not fall onto the same lines of the processor's cache.
 */
export function groupRowsFor(rowBytes: number): number {
  const fits = Math.min(MOST_GROUP_ROWS, Math.floor(GROUP_BYTES / Math.max(1, rowBytes)))
  const blocks = Math.max(1, Math.floor(fits / LEVEL_BLOCK))
  return LEVEL_BLOCK * (blocks % 2 === 0 ? blocks - 1 : blocks)
}

/** Bytes that one row of this layout takes. */
export function rowBytesOf(columns: readonly StoredColumn[]): number {
  return columns.reduce((sum, column) => sum + bytesOf(column), 0)
}

/** Bytes of one value of a column. */
export const bytesOf = (column: StoredColumn): 4 | 8 => (column.type === 'f64' ? 8 : 4)

/**
 * Reads one column's values as bytes in row order, for writing straight to a socket.
 * @param columnIndex the column's index in the log
 * @throws Problem not-found for a column that is not stored, source-missing when the column file is gone or too short
 */
export async function readColumn(
  path: string,
  layout: ColumnFileLayout,
  columnIndex: number,
): Promise<Uint8Array<ArrayBuffer>[]> {
  const reader = await ColumnReader.open(path, layout)
  try {
    return [await reader.bytes(columnIndex, new ArrayBuffer(layout.rows * reader.width(columnIndex)))]
  } finally {
    await reader.close()
  }
}

/** Reads one column's values as stored: not yet in canonical units. */
export async function readColumnValues(
  path: string,
  layout: ColumnFileLayout,
  columnIndex: number,
): Promise<Float32Array<ArrayBuffer> | Float64Array<ArrayBuffer>> {
  const reader = await ColumnReader.open(path, layout)
  try {
    return await reader.values(columnIndex, new ArrayBuffer(layout.rows * reader.width(columnIndex)))
  } finally {
    await reader.close()
  }
}

/** Extremes of each `block` rows of a column. */
export interface StoredLevel {
  readonly block: number
  readonly min: Float32Array<ArrayBuffer>
  readonly max: Float32Array<ArrayBuffer>
}

/** Reads the stored min/max level of a column; null where there is none. */
export async function readLevel(
  path: string,
  layout: ColumnFileLayout,
  columnIndex: number,
): Promise<StoredLevel | null> {
  const narrow = layout.columns.filter((column) => column.type === 'f32')
  const place = narrow.findIndex((column) => column.index === columnIndex && !column.setAside)
  if (!layout.level || place < 0) return null
  const { block, at } = layout.level
  const blocks = Math.ceil(layout.rows / block)
  const bytes = new Uint8Array(8 * blocks)
  const reader = await ColumnReader.open(path, layout)
  try {
    await reader.fill(bytes, at + 8 * blocks * place)
  } finally {
    await reader.close()
  }
  const both = new Float32Array(bytes.buffer)
  return { block, min: both.subarray(0, blocks), max: both.subarray(blocks) }
}

/** Reads the stored first values of each block of a 64-bit column; null where there are none. */
export async function readFirsts(
  path: string,
  layout: ColumnFileLayout,
  columnIndex: number,
): Promise<Float64Array<ArrayBuffer> | null> {
  const wide = layout.columns.filter((column) => column.type === 'f64')
  const place = wide.findIndex((column) => column.index === columnIndex && !column.setAside)
  if (layout.level?.firstsAt === undefined || place < 0) return null
  const { block, firstsAt } = layout.level
  const firsts = new Float64Array(Math.ceil(layout.rows / block))
  const reader = await ColumnReader.open(path, layout)
  try {
    await reader.fill(new Uint8Array(firsts.buffer), firstsAt + firsts.byteLength * place)
  } finally {
    await reader.close()
  }
  return firsts
}

/** An open column file, for reading several columns into memory that is used again. */
export class ColumnReader {
  private readonly handle: FileHandle
  private readonly path: string
  private readonly layout: ColumnFileLayout

  private constructor(handle: FileHandle, path: string, layout: ColumnFileLayout) {
    this.handle = handle
    this.path = path
    this.layout = layout
  }

  /** @throws Problem source-missing */
  static async open(path: string, layout: ColumnFileLayout): Promise<ColumnReader> {
    try {
      return new ColumnReader(await open(path, 'r'), path, layout)
    } catch (cause) {
      throw new Problem(
        'source-missing',
        `The stored columns are gone (${path}): index the log again.`,
        {},
        cause,
      )
    }
  }

  /** Bytes of one value of this column. @throws Problem not-found */
  width(columnIndex: number): 4 | 8 {
    return bytesOf(this.stored(columnIndex))
  }

  private stored(columnIndex: number): StoredColumn {
    const column = this.layout.columns.find((candidate) => candidate.index === columnIndex)
    if (!column || column.setAside)
      throw new Problem('not-found', `Column ${columnIndex + 1} holds no numbers.`)
    return column
  }

  /** Reads a column's bytes into the beginning of `into`. */
  async bytes(columnIndex: number, into: ArrayBuffer): Promise<Uint8Array<ArrayBuffer>> {
    const { rows } = this.layout
    const width = this.width(columnIndex)
    const bytes = new Uint8Array(into, 0, rows * width)
    for (const { from, to, position } of this.groups(columnIndex)) {
      await this.fill(bytes.subarray(from * width, to * width), position)
    }
    return bytes
  }

  /** Where the column's values of each group's rows [from, to) stand. */
  private *groups(columnIndex: number): Generator<{ from: number; to: number; position: number }> {
    const { columns, rows, groupRows } = this.layout
    const rowBytes = rowBytesOf(columns)
    const before = rowBytesOf(columns.slice(0, columns.indexOf(this.stored(columnIndex))))
    for (let from = 0; from < rows; from += groupRows) {
      const to = Math.min(rows, from + groupRows)
      yield { from, to, position: from * rowBytes + before * (to - from) }
    }
  }

  /** Reads a column's values into the beginning of `into`. */
  async values(
    columnIndex: number,
    into: ArrayBuffer,
  ): Promise<Float32Array<ArrayBuffer> | Float64Array<ArrayBuffer>> {
    await this.bytes(columnIndex, into)
    const { rows } = this.layout
    return this.width(columnIndex) === 8 ? new Float64Array(into, 0, rows) : new Float32Array(into, 0, rows)
  }

  /**
   * As `values`, into `into` from byte `at` on, a multiple of 8, and at once: for threads in which nothing else waits. Going out to another thread and coming back takes
   * longer than these small readings.
   */
  valuesNow(
    columnIndex: number,
    into: ArrayBuffer,
    at: number,
  ): Float32Array<ArrayBuffer> | Float64Array<ArrayBuffer> {
    const { rows } = this.layout
    const width = this.width(columnIndex)
    const bytes = new Uint8Array(into, at, rows * width)
    for (const { from, to, position } of this.groups(columnIndex)) {
      fillNow(this.handle.fd, this.path, bytes.subarray(from * width, to * width), position)
    }
    return width === 8 ? new Float64Array(into, at, rows) : new Float32Array(into, at, rows)
  }

  /** Reads a 64-bit column group by group, at once: `take` gets the values, which are void afterwards, and their first row. */
  wideValuesNow(columnIndex: number, take: (values: Float64Array, row: number) => void): void {
    const group = new Float64Array(Math.min(this.layout.rows, this.layout.groupRows))
    for (const { from, to, position } of this.groups(columnIndex)) {
      const values = group.subarray(0, to - from)
      fillNow(this.handle.fd, this.path, new Uint8Array(group.buffer, 0, values.byteLength), position)
      take(values, from)
    }
  }

  /** Fills `into` with the file's bytes from `position` on. */
  async fill(into: Uint8Array, position: number): Promise<void> {
    let done = 0
    while (done < into.byteLength) {
      const { bytesRead } = await this.handle.read(into, done, into.byteLength - done, position + done)
      if (bytesRead === 0) throw cutShort(this.path)
      done += bytesRead
    }
  }

  async close(): Promise<void> {
    await this.handle.close()
  }
}

/** Fills `into` with an open column file's bytes from `position` on, at once. @throws Problem source-missing */
export function fillNow(file: number, path: string, into: Uint8Array, position: number): void {
  let done = 0
  while (done < into.byteLength) {
    const bytesRead = readSync(file, into, done, into.byteLength - done, position + done)
    if (bytesRead === 0) throw cutShort(path)
    done += bytesRead
  }
}

function cutShort(path: string): Problem {
  return new Problem('source-missing', `The stored columns are cut short (${path}): index the log again.`)
}
