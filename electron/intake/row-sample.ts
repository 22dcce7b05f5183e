import { giveBack } from './give-back.ts'
import type { StoredColumn } from '../../workers/log/log.ts'
import type { RowGroup } from '../../workers/text/row-parser.ts'

const MOST_BLOCK_ROWS = 8192
const MOST_BLOCKS = 16
/** Memory for the whole sample. */
const SAMPLE_BYTES = 4 << 20

/** A stretch of rows, column after column, 64-bit and 32-bit columns apart. */
interface Block {
  readonly f32: Float32Array<ArrayBuffer>
  readonly f64: Float64Array<ArrayBuffer>
}

/**
 * Keeps whole stretches of rows, spread evenly over a file of unknown length, in bounded memory: when the room is
 * full, every second stretch is dropped and from then on only every second one kept.
 */
export class RowSample {
  private blocks: Block[] = []
  /** Dropped blocks, whose memory the next ones take. */
  private readonly free: Block[] = []
  private every = 1
  private seen = 0
  private current: Block | null = null
  private filled = 0
  private readonly wide: number
  private readonly narrow: number
  private readonly groupRows: number
  private readonly blockRows: number

  /** @param columns the stored columns, all 64-bit ones first */
  constructor(columns: readonly StoredColumn[], groupRows: number) {
    this.wide = columns.filter((column) => column.type === 'f64').length
    this.narrow = columns.length - this.wide
    this.groupRows = groupRows
    const rowBytes = 8 * this.wide + 4 * this.narrow
    this.blockRows = Math.max(4, Math.min(MOST_BLOCK_ROWS, Math.floor(SAMPLE_BYTES / MOST_BLOCKS / rowBytes)))
  }

  /** Takes the rows of a group, in file order. */
  add(group: RowGroup): void {
    for (let from = 0; from < group.rows;) {
      if (this.filled === 0) {
        this.current = this.wantsNext() ? this.newBlock() : null
        this.seen += 1
      }
      const rows = Math.min(this.blockRows - this.filled, group.rows - from)
      if (this.current) {
        copyPlanes(
          group.f64,
          this.groupRows,
          from,
          this.current.f64,
          this.blockRows,
          this.filled,
          rows,
          this.wide,
        )
        copyPlanes(
          group.f32,
          this.groupRows,
          from,
          this.current.f32,
          this.blockRows,
          this.filled,
          rows,
          this.narrow,
        )
      }
      this.filled = (this.filled + rows) % this.blockRows
      from += rows
    }
  }

  private wantsNext(): boolean {
    if (this.seen % this.every !== 0) return false
    if (this.blocks.length < MOST_BLOCKS) return true
    this.free.push(...this.blocks.filter((_, index) => index % 2 === 1))
    this.blocks = this.blocks.filter((_, index) => index % 2 === 0)
    this.every *= 2
    return this.seen % this.every === 0
  }

  private newBlock(): Block {
    const block = this.free.pop() ?? {
      f32: new Float32Array(this.narrow * this.blockRows),
      f64: new Float64Array(this.wide * this.blockRows),
    }
    this.blocks.push(block)
    return block
  }

  /** Gives the sample's memory back; there is nothing in it afterwards. */
  clear(): void {
    giveBack([...this.blocks, ...this.free].flatMap(({ f32, f64 }) => [f32, f64]))
    this.free.length = 0
    this.blocks = []
    this.current = null
    this.filled = 0
  }

  /** The kept rows of one stored column, stretch after stretch. */
  values(stored: number): Float64Array<ArrayBuffer> {
    const open = this.filled > 0 && this.current !== null
    const rows = this.blocks.length * this.blockRows - (open ? this.blockRows - this.filled : 0)
    const out = new Float64Array(rows)
    this.blocks.forEach((block, index) => {
      const from = index * this.blockRows
      const [planes, plane] = stored < this.wide ? [block.f64, stored] : [block.f32, stored - this.wide]
      const start = plane * this.blockRows
      out.set(planes.subarray(start, start + Math.min(this.blockRows, rows - from)), from)
    })
    return out
  }
}

function copyPlanes<T extends Float32Array | Float64Array>(
  from: T,
  fromRows: number,
  fromRow: number,
  to: T,
  toRows: number,
  toRow: number,
  rows: number,
  planes: number,
): void {
  for (let plane = 0; plane < planes; plane += 1) {
    const start = plane * fromRows + fromRow
    to.set(from.subarray(start, start + rows), plane * toRows + toRow)
  }
}
