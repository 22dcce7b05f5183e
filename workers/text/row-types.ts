import type { Dialect } from '../log/log.ts'

/**
 * What becomes of a column: numbers of 32 or 64 bits, 64-bit differences to an exact origin, or nothing. Only the
 * third takes dates and times as well, in seconds.
 */
export type CellTarget = 'f32' | 'f64' | 'f64-origin' | 'skip'

export interface RowParserOptions {
  readonly separator: Dialect['separator']
  readonly decimal: Dialect['decimal']
  readonly newline: '\n' | '\r'
  /** Line number of the first byte that will be pushed, from 1. */
  readonly firstLine: number
  readonly trailingSeparator: boolean
  readonly names: readonly string[]
  readonly targets: readonly CellTarget[]
  /** Columns in which a cell that is no number ends the reading; any other column is set aside instead. */
  readonly required: readonly boolean[]
  /** Lines (header, units) that a logger repeats after a power cycle. */
  readonly headLines: readonly Uint8Array[]
  readonly file: string
  /** Rows that one group holds. */
  readonly groupRows: number
  /** To work in until the last group is done with; made for the purpose unless given. What stands in it is void. */
  readonly memory?: WebAssembly.Memory
  /**
   * Called with each full group and at the end with the last. Its arrays stay as they are until the promise that the
   * next call gives has come true, so that a group can be written while the next is parsed.
   */
  readonly onGroup: (group: RowGroup) => void | Promise<void>
}

/** Rows in memory: column after column, each `groupRows` long, 64-bit columns and 32-bit columns apart. */
export interface RowGroup {
  readonly rows: number
  readonly f32: Float32Array<ArrayBuffer>
  readonly f64: Float64Array<ArrayBuffer>
  /** Smallest and largest finite values of each 64 rows of the 32-bit columns, column after column. */
  readonly levelMin: Float32Array<ArrayBuffer>
  readonly levelMax: Float32Array<ArrayBuffer>
}

/** A column that holds something else than numbers further down. */
export interface SetAside {
  readonly column: number
  readonly line: number
  readonly why: string
}
