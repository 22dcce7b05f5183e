import { open, rename, rm, type FileHandle } from 'node:fs/promises'
import { endianness } from 'node:os'
import { dirname } from 'node:path'
import type { ColumnFileLayout, StoredColumn } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { LEVEL_BLOCK } from '../../workers/text/kernel/rows-kernel.ts'
import type { RowGroup } from '../../workers/text/row-parser.ts'

export type { ColumnFileLayout, StoredColumn } from '../../workers/log/log.ts'

if (endianness() !== 'LE') throw new Error(`column files are little-endian, this machine is ${endianness()}`)

/** Memory that one group of rows may take. */
const GROUP_BYTES = 6 << 20
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

const bytesOf = (column: StoredColumn): 4 | 8 => (column.type === 'f64' ? 8 : 4)

/**
 * Writes a column file group by group in constant memory, under a temporary name; `finish` makes it durable and
 * `publishColumnFile` gives it its name. The stored columns must be all 64-bit ones first, then the 32-bit ones, as a RowGroup holds them.
 */
export class ColumnFileWriter {
  private readonly handle: FileHandle
  private readonly temporary: string
  private readonly columns: readonly StoredColumn[]
  private readonly groupRows: number
  private rows = 0
  private isOpen = true
  private writing: Promise<void> = Promise.resolve()
  /** Blocks of each group, column after column: minima and maxima. */
  private readonly levels: { blocks: number; min: Float32Array; max: Float32Array }[] = []

  private constructor(
    handle: FileHandle,
    temporary: string,
    columns: readonly StoredColumn[],
    groupRows: number,
  ) {
    this.handle = handle
    this.temporary = temporary
    this.columns = columns
    this.groupRows = groupRows
  }

  /** Starts a file; there must be none of this name. @throws Problem disk */
  static async create(
    temporary: string,
    columns: readonly StoredColumn[],
    groupRows: number,
  ): Promise<ColumnFileWriter> {
    const handle = await onDisk(() => open(temporary, 'wx', 0o600))
    return new ColumnFileWriter(handle, temporary, columns, groupRows)
  }

  /**
   * Appends a group; only the last may hold fewer than `groupRows` rows. Waits for the group before and then writes
   * this one in the background: its arrays must stay as they are until the next call's promise has come true.
   */
  async write(group: RowGroup): Promise<void> {
    if (this.rows % this.groupRows !== 0) throw new Error(`a group of ${group.rows} rows after a short one`)
    await this.writing
    const parts: Uint8Array[] = []
    let wide = 0
    let narrow = 0
    for (const column of this.columns) {
      const from = column.type === 'f64' ? group.f64 : group.f32
      const start = (column.type === 'f64' ? wide++ : narrow++) * this.groupRows
      parts.push(bytesIn(from, start, group.rows))
    }
    this.rows += group.rows
    this.keepLevels(group)
    this.writing = onDisk(() => writeAll(this.handle, joinNeighbours(parts)))
    // A failure is thrown where the promise is awaited: at the next group or at the end.
    this.writing.catch(() => undefined)
  }

  private keepLevels({ rows, levelMin, levelMax }: RowGroup): void {
    const blocks = Math.ceil(rows / LEVEL_BLOCK)
    const stride = Math.ceil(this.groupRows / LEVEL_BLOCK)
    const narrow = levelMin.length / stride
    const packed = (planes: Float32Array): Float32Array => {
      const out = new Float32Array(narrow * blocks)
      for (let column = 0; column < narrow; column += 1) {
        out.set(planes.subarray(column * stride, column * stride + blocks), column * blocks)
      }
      return out
    }
    this.levels.push({ blocks, min: packed(levelMin), max: packed(levelMax) })
  }

  /** The level of the whole file as the layout describes it. */
  private levelBytes(): Uint8Array {
    const narrow = this.columns.filter((column) => column.type === 'f32').length
    const total = this.levels.reduce((sum, { blocks }) => sum + blocks, 0)
    const out = new Float32Array(2 * narrow * total)
    let done = 0
    for (const { blocks, min, max } of this.levels) {
      for (let column = 0; column < narrow; column += 1) {
        const part = [column * blocks, (column + 1) * blocks] as const
        out.set(min.subarray(...part), 2 * column * total + done)
        out.set(max.subarray(...part), (2 * column + 1) * total + done)
      }
      done += blocks
    }
    return new Uint8Array(out.buffer)
  }

  /** Waits for the last group, adds the level and makes the file durable, still under its temporary name. */
  async finish(): Promise<void> {
    await this.writing
    await onDisk(async () => {
      const level = this.levelBytes()
      if (level.byteLength > 0) await writeAll(this.handle, [level])
      await this.handle.sync()
      await this.handle.close()
      this.isOpen = false
    })
  }

  /** Closes and removes what was written. */
  async discard(): Promise<void> {
    // Whether the last write failed no longer matters.
    await this.writing.catch(() => undefined)
    if (this.isOpen) await this.handle.close()
    this.isOpen = false
    await rm(this.temporary, { force: true })
  }
}

/** Gives a finished column file its final name, durably; a file of that name is replaced. @throws Problem disk */
export async function publishColumnFile(temporary: string, path: string): Promise<void> {
  await onDisk(async () => {
    await rename(temporary, path)
    // Windows knows no syncing of folders and needs none.
    if (process.platform === 'win32') return
    const folder = await open(dirname(path), 'r')
    await folder.sync().finally(() => folder.close())
  })
}

function bytesIn(values: Float32Array | Float64Array, start: number, rows: number): Uint8Array {
  const width = values.BYTES_PER_ELEMENT
  return new Uint8Array(values.buffer, values.byteOffset + start * width, rows * width)
}

/** Planes that lie side by side in memory go out in one piece. */
function joinNeighbours(parts: readonly Uint8Array[]): Uint8Array[] {
  const joined: Uint8Array[] = []
  for (const part of parts) {
    const last = joined.at(-1)
    if (last && last.buffer === part.buffer && last.byteOffset + last.byteLength === part.byteOffset) {
      joined[joined.length - 1] = new Uint8Array(
        last.buffer,
        last.byteOffset,
        last.byteLength + part.byteLength,
      )
    } else joined.push(part)
  }
  return joined
}

async function writeAll(handle: FileHandle, parts: readonly Uint8Array[]): Promise<void> {
  // An operating system takes only so many pieces in one call (1024 on Linux).
  for (let from = 0; from < parts.length; from += 512) {
    let rest = parts.slice(from, from + 512)
    while (rest.length > 0) {
      let { bytesWritten } = await handle.writev(rest)
      while (rest[0] && bytesWritten >= rest[0].byteLength) {
        bytesWritten -= rest[0].byteLength
        rest = rest.slice(1)
      }
      if (rest[0] && bytesWritten > 0) rest = [rest[0].subarray(bytesWritten), ...rest.slice(1)]
    }
  }
}

/** Runs one step on the disk; what goes wrong there is a Problem that the pilot can act on. */
async function onDisk<T>(step: () => Promise<T>): Promise<T> {
  try {
    return await step()
  } catch (cause) {
    throw diskProblem(cause)
  }
}

function diskProblem(cause: unknown): Problem {
  const code = (cause as NodeJS.ErrnoException).code
  const what =
    code === 'ENOSPC' || code === 'EDQUOT'
      ? 'The disk is full: the log could not be stored.'
      : `The log could not be stored on the disk (${code ?? String(cause)}).`
  return new Problem('disk', what, {}, cause)
}

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
    const { columns, rows, groupRows } = this.layout
    const column = this.stored(columnIndex)
    const width = bytesOf(column)
    const rowBytes = rowBytesOf(columns)
    const before = rowBytesOf(columns.slice(0, columns.indexOf(column)))
    const bytes = new Uint8Array(into, 0, rows * width)
    for (let row = 0; row < rows; row += groupRows) {
      const some = Math.min(groupRows, rows - row)
      await this.fill(bytes.subarray(row * width, (row + some) * width), row * rowBytes + before * some)
    }
    return bytes
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

  /** Fills `into` with the file's bytes from `position` on. */
  async fill(into: Uint8Array, position: number): Promise<void> {
    let done = 0
    while (done < into.byteLength) {
      const { bytesRead } = await this.handle.read(into, done, into.byteLength - done, position + done)
      if (bytesRead === 0) {
        const message = `The stored columns are cut short (${this.path}): index the log again.`
        throw new Problem('source-missing', message)
      }
      done += bytesRead
    }
  }

  async close(): Promise<void> {
    await this.handle.close()
  }
}
