import type { Dialect, LogFormat, Notice, PreambleEntry } from '../../../workers/log/log.ts'
import type { CellTarget, RowGroup } from '../../../workers/text/row-parser.ts'
import type { UnitId } from '../../../workers/units/units.ts'

/** One open format. To add another: a file beside this one, and its line in registry.ts. */
export interface LogReader {
  readonly format: LogFormat
  /** Whether a file begins as this format does, by its first 16 bytes (fewer when it is shorter). */
  recognises(start: Uint8Array): boolean
  /**
   * Looks at a table's beginning; stores nothing, and leaves nothing open.
   * @param stop called between pieces; throws to end the look
   * @throws Problem when the file is no such table, is damaged or holds no columns of numbers
   */
  look(path: string, fileName: string, stop: () => void): Promise<TableLook>
}

/** What the beginning of a table shows, in the order of its columns, and the way to its rows. */
export interface TableLook {
  readonly bytes: number
  readonly dialect: Dialect
  readonly names: readonly string[]
  /** From a row of units; '' where there is none. */
  readonly unitTexts: readonly string[]
  /** Units of columns that hold dates or times as such. They are stored as exact differences to the first. */
  readonly stampUnits: ReadonlyMap<number, UnitId>
  readonly preamble: readonly PreambleEntry[]
  /** Values of the first rows, NaN where missing; null for columns that hold no numbers. The caller's to give back. */
  readonly samples: readonly (Float64Array<ArrayBuffer> | null)[]
  /** A few first values as written. */
  readonly examples: readonly (readonly string[])[]
  /** What only this format knows to say. */
  readonly notices: readonly Notice[]
  /** Reads all rows from the beginning. @throws Problem */
  readRows(order: RowsOrder): Promise<RowsRead>
}

/** How the rows are wanted. */
export interface RowsOrder {
  readonly targets: readonly CellTarget[]
  /** Columns that must hold numbers to the end; others are set aside where they do not. */
  readonly required: readonly boolean[]
  readonly groupRows: number
  /** To work in, for who wants it, until the last group is done with; what stands in it is void. */
  readonly memory?: WebAssembly.Memory
  /** The file's SHA-256 where it is known already; null to compute it. */
  readonly contentHash: string | null
  /** As in RowParserOptions: the arrays stay as they are until the next call's promise has come true. */
  readonly onGroup: (group: RowGroup) => void | Promise<void>
  /** The share that is done, 0..1. */
  readonly onProgress: (done: number) => void
  /** Called between pieces; throws to end the reading. */
  readonly stop: () => void
}

/** What came of it. */
export interface RowsRead {
  readonly rows: number
  /** SHA-256 of the file's bytes as they lie on the disk, hexadecimal. */
  readonly contentHash: string
  /** Per column, of the finite numbers; Infinity and -Infinity where there is none. Without the origin. */
  readonly min: Float64Array
  readonly max: Float64Array
  /** The first values of columns that are stored as differences to it; null for all others. */
  readonly origins: readonly (string | null)[]
  /** Columns in which no numbers were found further down. */
  readonly setAside: ReadonlySet<number>
  /** Rows before which the table began anew, as after a power cycle. */
  readonly restarts: readonly number[]
  readonly notices: readonly Notice[]
}
