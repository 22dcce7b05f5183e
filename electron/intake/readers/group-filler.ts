import { LEVEL_BLOCK } from '../../../workers/text/kernel/rows-kernel.ts'
import type { CellTarget, RowGroup } from '../../../workers/text/row-parser.ts'

/** The two sets of planes take turns: one is written to the disk while the other is filled. */
type Planes = Pick<RowGroup, 'f32' | 'f64' | 'levelMin' | 'levelMax'>

/** Numbers of a column's next rows, of any width. */
export type Numbers = Float32Array | Float64Array | Int32Array | Uint32Array | SmallIntegers
type SmallIntegers = Int16Array | Uint16Array | Int8Array | Uint8Array

/** Puts columns of numbers that come in stretches of any length into groups of equal length, as RowParser does. */
export class GroupFiller {
  rows = 0
  /** Per column, of the finite numbers handed on. */
  readonly min: Float64Array
  readonly max: Float64Array

  private readonly wide: number[] = []
  private readonly narrow: number[] = []
  private readonly groupRows: number
  private readonly blocks: number
  private readonly onGroup: (group: RowGroup) => void | Promise<void>
  private readonly sides: readonly Planes[]
  private side = 0
  private filled = 0

  constructor(
    targets: readonly CellTarget[],
    groupRows: number,
    onGroup: (group: RowGroup) => void | Promise<void>,
  ) {
    targets.forEach((target, column) => {
      if (target === 'f32') this.narrow.push(column)
      else if (target !== 'skip') this.wide.push(column)
    })
    this.groupRows = groupRows
    this.blocks = Math.ceil(groupRows / LEVEL_BLOCK)
    this.onGroup = onGroup
    this.min = new Float64Array(targets.length).fill(Infinity)
    this.max = new Float64Array(targets.length).fill(-Infinity)
    this.sides = [this.makePlanes(), this.makePlanes()]
  }

  private makePlanes(): Planes {
    return {
      f64: new Float64Array(this.wide.length * this.groupRows),
      f32: new Float32Array(this.narrow.length * this.groupRows),
      levelMin: new Float32Array(this.narrow.length * this.blocks),
      levelMax: new Float32Array(this.narrow.length * this.blocks),
    }
  }

  /**
   * Takes the next rows of all stored columns. The arrays may be used again afterwards.
   * @param numbersOf a column's numbers, at least `rows` of them
   */
  async add(rows: number, numbersOf: (column: number) => Numbers): Promise<void> {
    for (let from = 0; from < rows;) {
      const some = Math.min(rows - from, this.groupRows - this.filled)
      const { f64, f32 } = this.sides[this.side] as Planes
      const put = (planes: Float64Array | Float32Array, column: number, place: number): void =>
        planes.set(numbersOf(column).subarray(from, from + some), place * this.groupRows + this.filled)
      this.wide.forEach((column, place) => put(f64, column, place))
      this.narrow.forEach((column, place) => put(f32, column, place))
      this.filled += some
      this.rows += some
      from += some
      if (this.filled === this.groupRows) await this.flush()
    }
  }

  /** Hands on what is left. */
  async end(): Promise<void> {
    if (this.filled > 0) await this.flush()
  }

  private async flush(): Promise<void> {
    const planes = this.sides[this.side] as Planes
    const rows = this.filled
    this.narrow.forEach((column, place) => {
      for (let block = 0; block * LEVEL_BLOCK < rows; block += 1) {
        const from = place * this.groupRows + block * LEVEL_BLOCK
        const to = Math.min(from + LEVEL_BLOCK, place * this.groupRows + rows)
        const { min, max } = extremes(planes.f32, from, to)
        planes.levelMin[place * this.blocks + block] = min <= max ? min : NaN
        planes.levelMax[place * this.blocks + block] = min <= max ? max : NaN
        this.widen(column, min, max)
      }
    })
    this.wide.forEach((column, place) => {
      const { min, max } = extremes(planes.f64, place * this.groupRows, place * this.groupRows + rows)
      this.widen(column, min, max)
    })
    await this.onGroup({ rows, ...planes })
    this.side = 1 - this.side
    this.filled = 0
  }

  private widen(column: number, least: number, most: number): void {
    if (least < (this.min[column] as number)) this.min[column] = least
    if (most > (this.max[column] as number)) this.max[column] = most
  }
}

/** Of the finite values in [from, to); Infinity and -Infinity where there is none. */
function extremes(
  values: Float32Array | Float64Array,
  from: number,
  to: number,
): { min: number; max: number } {
  let min = Infinity
  let max = -Infinity
  for (let at = from; at < to; at += 1) {
    const value = values[at] as number
    if (!(Math.abs(value) < Infinity)) continue
    if (value < min) min = value
    if (value > max) max = value
  }
  return { min, max }
}
