import type { StoredColumn } from '../../workers/log/log.ts'
import type { RowGroup } from '../../workers/text/row-parser.ts'

const BLOCK_ROWS = 8192
const MOST_BLOCKS = 16

/**
 * Keeps whole stretches of rows, spread evenly over a file of unknown length, in bounded memory: when the room is
 * full, every second stretch is dropped and from then on only every second one kept.
 */
export class RowSample {
  private blocks: (Float32Array | Float64Array)[][] = []
  private every = 1
  private seen = 0
  private current: (Float32Array | Float64Array)[] | null = null
  private filled = 0
  private readonly columns: readonly StoredColumn[]
  private readonly groupRows: number

  constructor(columns: readonly StoredColumn[], groupRows: number) {
    this.columns = columns
    this.groupRows = groupRows
  }

  /** Takes the rows of a group, in file order. */
  add(group: RowGroup): void {
    for (let from = 0; from < group.rows;) {
      if (this.filled === 0) {
        this.current = this.seen % this.every === 0 ? this.newBlock() : null
        this.seen += 1
      }
      const rows = Math.min(BLOCK_ROWS - this.filled, group.rows - from)
      if (this.current) this.copy(this.current, group, from, rows)
      this.filled = (this.filled + rows) % BLOCK_ROWS
      from += rows
    }
  }

  private newBlock(): (Float32Array | Float64Array)[] {
    if (this.blocks.length >= MOST_BLOCKS) {
      this.blocks = this.blocks.filter((_, index) => index % 2 === 0)
      this.every *= 2
      if ((this.seen / (this.every / 2)) % 2 === 1) return []
    }
    const block = this.columns.map((column) =>
      column.type === 'f64' ? new Float64Array(BLOCK_ROWS) : new Float32Array(BLOCK_ROWS),
    )
    this.blocks.push(block)
    return block
  }

  private copy(block: (Float32Array | Float64Array)[], group: RowGroup, from: number, rows: number): void {
    if (block.length === 0) return
    let wide = 0
    let narrow = 0
    this.columns.forEach((column, index) => {
      const plane = column.type === 'f64' ? group.f64 : group.f32
      const start = (column.type === 'f64' ? wide++ : narrow++) * this.groupRows + from
      block[index]?.set(plane.subarray(start, start + rows), this.filled)
    })
  }

  /** The kept rows of one stored column, stretch after stretch. */
  values(stored: number): Float64Array {
    const open = this.filled > 0 && this.current !== null && this.blocks.at(-1) === this.current
    const rows = this.blocks.length * BLOCK_ROWS - (open ? BLOCK_ROWS - this.filled : 0)
    const out = new Float64Array(rows)
    this.blocks.forEach((block, index) => {
      const from = index * BLOCK_ROWS
      const column = block[stored]
      if (column) out.set(column.subarray(0, Math.min(BLOCK_ROWS, rows - from)), from)
    })
    return out
  }
}
