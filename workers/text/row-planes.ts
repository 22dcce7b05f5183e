import {
  ENTRY,
  ENTRY_PLANE,
  F32,
  LEVEL_BLOCK,
  SKIP,
  type Kernel,
  type MemoryPlan,
} from './kernel/rows-kernel.ts'
import type { RowParserOptions } from './row-types.ts'

/**
 * Where rows go: the kernel writes them to small planes, from which they move on to one of two sets of the group's
 * planes. While one set is being filled, the other may still be written to the disk.
 */
export class RowPlanes {
  /** Per column, of the groups handed on; Infinity and -Infinity while there was no finite number. */
  readonly min: Float64Array
  readonly max: Float64Array
  private readonly groupRows: number
  private readonly onGroup: RowParserOptions['onGroup']
  private readonly kind: Uint8Array
  private readonly wide: readonly number[]
  private readonly narrow: readonly number[]
  private readonly memory: WebAssembly.Memory
  private readonly plan: MemoryPlan
  private readonly kernel: Kernel
  /** The set of planes that is being filled, and how many of its rows are: those that follow are in the small planes. */
  private side: 0 | 1 = 0
  private spilled = 0

  /**
   * Lays the planes out in the kernel's memory.
   * @param kind what becomes of each column, as the kernel's table has it
   */
  constructor(
    { groupRows, onGroup }: Pick<RowParserOptions, 'groupRows' | 'onGroup'>,
    kind: Uint8Array,
    memory: WebAssembly.Memory,
    plan: MemoryPlan,
    kernel: Kernel,
  ) {
    this.groupRows = groupRows
    this.onGroup = onGroup
    this.kind = kind
    this.memory = memory
    this.plan = plan
    this.kernel = kernel
    ;[this.wide, this.narrow] = columnsByWidth(kind)
    this.min = new Float64Array(kind.length).fill(Infinity)
    this.max = new Float64Array(kind.length).fill(-Infinity)
    this.layOut()
  }

  /** Writes the columns' kinds and places into the table. */
  private layOut(): void {
    const { plan, memory } = this
    const table = new DataView(memory.buffer)
    this.kind.forEach((kind, column) => table.setUint8(plan.table + column * ENTRY, kind))
    const plane = (column: number, address: number): void =>
      table.setUint32(plan.table + column * ENTRY + ENTRY_PLANE, address, true)
    this.wide.forEach((column, index) => plane(column, plan.batch64 + index * plan.stride64))
    this.narrow.forEach((column, index) => plane(column, plan.batch32 + index * plan.stride32))
    const ranges = new Float64Array(memory.buffer, plan.ranges, 2 * (this.wide.length + this.narrow.length))
    ranges.forEach((_, place) => (ranges[place] = place % 2 === 0 ? Infinity : -Infinity))
  }

  /** The small planes are full, or a row more than the kernel's own has filled them: hands a full group on. */
  async full(): Promise<void> {
    this.spill()
    if (this.spilled === this.groupRows) await this.flush()
  }

  /** Hands on what there is. */
  async end(): Promise<void> {
    this.spill()
    if (this.spilled > 0) await this.flush()
  }

  /** Moves the rows from the small planes to those of the group. */
  private spill(): void {
    const { groupRows, kernel, plan, side, spilled } = this
    const wide = this.wide.length
    const rows = kernel.row.value
    const block = 4 * Math.ceil(groupRows / LEVEL_BLOCK)
    const level = (4 * spilled) / LEVEL_BLOCK
    kernel.spill64(
      wide,
      rows,
      plan.batch64,
      plan.stride64,
      plan.f64[side] + 8 * spilled,
      8 * groupRows,
      plan.ranges,
    )
    kernel.spill32(
      this.narrow.length,
      rows,
      plan.batch32,
      plan.stride32,
      plan.f32[side] + 4 * spilled,
      4 * groupRows,
      plan.levelMin[side] + level,
      plan.levelMax[side] + level,
      block,
      plan.ranges + 16 * wide,
    )
    kernel.renewPairs()
    kernel.row.value = 0
    this.spilled += rows
    kernel.limit.value = Math.min(plan.batchRows, groupRows - this.spilled)
  }

  private async flush(): Promise<void> {
    const { groupRows, memory, plan, side, spilled } = this
    const { buffer } = memory as { buffer: ArrayBuffer }
    const blocks = Math.ceil(groupRows / LEVEL_BLOCK)
    const ranges = new Float64Array(buffer, plan.ranges, 2 * (this.wide.length + this.narrow.length))
    ;[...this.wide, ...this.narrow].forEach((column, place) => {
      this.min[column] = ranges[2 * place] as number
      this.max[column] = ranges[2 * place + 1] as number
    })
    await this.onGroup({
      rows: spilled,
      f32: new Float32Array(buffer, plan.f32[side], this.narrow.length * groupRows),
      f64: new Float64Array(buffer, plan.f64[side], this.wide.length * groupRows),
      levelMin: new Float32Array(buffer, plan.levelMin[side], this.narrow.length * blocks),
      levelMax: new Float32Array(buffer, plan.levelMax[side], this.narrow.length * blocks),
    })
    this.side = side === 0 ? 1 : 0
    this.spilled = 0
    this.kernel.limit.value = Math.min(plan.batchRows, groupRows)
  }

  /** Whether a column has held a finite number so far. */
  hadNumbers(column: number): boolean {
    if (this.kind[column] === SKIP) return false
    const { plan, memory, kernel } = this
    const isNarrow = this.kind[column] === F32
    const place = isNarrow ? this.wide.length + this.narrow.indexOf(column) : this.wide.indexOf(column)
    const [least] = new Float64Array(memory.buffer, plan.ranges + 16 * place, 1)
    if (least !== Infinity) return true
    // The rest is in the small planes.
    const at = new DataView(memory.buffer, plan.table + column * ENTRY).getUint32(ENTRY_PLANE, true)
    const values = isNarrow
      ? new Float32Array(memory.buffer, at, kernel.row.value)
      : new Float64Array(memory.buffer, at, kernel.row.value)
    return values.some((value) => Number.isFinite(value))
  }
}

/** The columns of 64 and of 32 bits, which lie apart. */
export function columnsByWidth(kind: Uint8Array): [wide: number[], narrow: number[]] {
  const wide: number[] = []
  const narrow: number[] = []
  kind.forEach((one, column) => {
    if (one === F32) narrow.push(column)
    else if (one !== SKIP) wide.push(column)
  })
  return [wide, narrow]
}
