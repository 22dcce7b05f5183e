import { open, rename, rm, type FileHandle } from 'node:fs/promises'
import { dirname } from 'node:path'
import type { StoredColumn } from '../../workers/log/log.ts'
import { giveBack, lentMemory } from './give-back.ts'
import { writeAll } from './write-all.ts'
import { Problem } from '../../workers/log/problems.ts'
import { LEVEL_BLOCK } from '../../workers/text/kernel/rows-kernel.ts'
import type { RowGroup } from '../../workers/text/row-parser.ts'

/** So much is written before the disk is asked to keep it: the wait at the end is then for the last part only. */
const SYNC_BYTES = 16 << 20
/** Memory for the columns' levels on their way to the disk. */
const LEVEL_BYTES = 256 << 10

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
  /** Bytes written since the disk was last asked to keep them, and its answer. */
  private unsynced = 0
  private syncing: Promise<void> | null = null
  /** Blocks of each group, column after column: minima and maxima, and the first values of the 64-bit columns. */
  private readonly levels: {
    blocks: number
    min: Float32Array<ArrayBuffer>
    max: Float32Array<ArrayBuffer>
    firsts: Float64Array<ArrayBuffer>
  }[] = []

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
    this.writing = onDisk(() => writeAll(this.handle, joinNeighbours(parts))).then(() => this.syncSoon(parts))
    // A failure is thrown where the promise is awaited: at the next group or at the end.
    this.writing.catch(() => undefined)
  }

  /** Lets the disk keep what has been written while the next groups are parsed. */
  private syncSoon(written: readonly Uint8Array[]): void {
    this.unsynced += written.reduce((sum, { byteLength }) => sum + byteLength, 0)
    if (this.syncing || this.unsynced < SYNC_BYTES) return
    this.unsynced = 0
    const syncing = onDisk(() => this.handle.datasync())
    this.syncing = syncing
    // A failure stays, and is thrown at the end.
    syncing.then(
      () => (this.syncing = null),
      () => undefined,
    )
  }

  private keepLevels({ rows, levelMin, levelMax, f64 }: RowGroup): void {
    const blocks = Math.ceil(rows / LEVEL_BLOCK)
    const stride = Math.ceil(this.groupRows / LEVEL_BLOCK)
    const narrow = levelMin.length / stride
    const wide = this.columns.length - narrow
    const memory = lentMemory(8 * (wide + narrow) * blocks)
    const firsts = new Float64Array(memory, 0, wide * blocks)
    const packed = (planes: Float32Array, at: number): Float32Array<ArrayBuffer> => {
      const out = new Float32Array(memory, at, narrow * blocks)
      for (let column = 0; column < narrow; column += 1) {
        out.set(planes.subarray(column * stride, column * stride + blocks), column * blocks)
      }
      return out
    }
    for (let place = 0; place < firsts.length; place += 1) {
      const column = Math.floor(place / blocks)
      firsts[place] = f64[column * this.groupRows + (place - column * blocks) * LEVEL_BLOCK] as number
    }
    this.levels.push({
      blocks,
      min: packed(levelMin, 8 * wide * blocks),
      max: packed(levelMax, (8 * wide + 4 * narrow) * blocks),
      firsts,
    })
  }

  /** Writes the level of the whole file as the layout describes it, column by column. */
  private async writeLevel(): Promise<void> {
    const narrow = this.columns.filter((column) => column.type === 'f32').length
    const total = this.levels.reduce((sum, { blocks }) => sum + blocks, 0)
    await this.inPieces(narrow, 8 * total, (column, place) => {
      const both = new Float32Array(place.buffer, place.byteOffset, 2 * total)
      let done = 0
      for (const { blocks, min, max } of this.levels) {
        const part = [column * blocks, (column + 1) * blocks] as const
        both.set(min.subarray(...part), done)
        both.set(max.subarray(...part), total + done)
        done += blocks
      }
    })
    // A file without a level has none of these either.
    const wide = narrow > 0 ? this.columns.length - narrow : 0
    await this.inPieces(wide, 8 * total, (column, place) => {
      const all = new Float64Array(place.buffer, place.byteOffset, total)
      let done = 0
      for (const { blocks, firsts } of this.levels) {
        all.set(firsts.subarray(column * blocks, (column + 1) * blocks), done)
        done += blocks
      }
    })
    giveBack(this.levels.map(({ firsts }) => firsts))
    this.levels.length = 0
  }

  /** Writes so many bytes of each column, several columns at a time: there may be 100,000, each write a wait. */
  private async inPieces(
    columns: number,
    bytes: number,
    fill: (column: number, place: Uint8Array<ArrayBuffer>) => void,
  ): Promise<void> {
    if (columns === 0) return
    const atOnce = Math.min(columns, Math.max(1, Math.floor(LEVEL_BYTES / bytes)))
    const piece = new Uint8Array(bytes * atOnce)
    for (let from = 0; from < columns; from += atOnce) {
      const some = Math.min(atOnce, columns - from)
      for (let place = 0; place < some; place += 1) {
        fill(from + place, piece.subarray(place * bytes, (place + 1) * bytes))
      }
      await writeAll(this.handle, [piece.subarray(0, some * bytes)])
    }
    giveBack([piece])
  }

  /** Waits for the last group, adds the level and makes the file durable, still under its temporary name. */
  async finish(): Promise<void> {
    await this.writing
    await this.syncing
    await onDisk(async () => {
      if (this.rows > 0) await this.writeLevel()
      await this.handle.sync()
      await this.handle.close()
      this.isOpen = false
    })
  }

  /** Closes and removes what was written. */
  async discard(): Promise<void> {
    // Whether the last write failed no longer matters.
    await this.writing.catch(() => undefined)
    await this.syncing?.catch(() => undefined)
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
