import { isoSeconds } from '../clock/iso-stamp.ts'
import { bareCell, cellNumber, whyNoNumber } from './cell.ts'
import { ExactDifference } from './exact-difference.ts'
import {
  ENTRY,
  ENTRY_DECIMALS,
  ENTRY_ORIGIN,
  ENTRY_ORIGIN_SET,
  EXACT,
  F32,
  type Kernel,
} from './kernel/rows-kernel.ts'
import type { RowParserOptions, SetAside } from './row-types.ts'

/** Reads the cells that the kernel does not settle, as text: they get the double nearest to what they say. */
export class SlowCells {
  /** The file's last line is being read, which no line end closes. */
  atEnd = false
  /** The last column's cell in the file's last line, when it was read as text. */
  lastCell = 'a plain number'
  /** The cells of the record being read that are no numbers; void while the kernel's `odd` is 0. */
  oddities: SetAside[] = []
  private readonly decimal: RowParserOptions['decimal']
  private readonly kind: Uint8Array
  private readonly memory: WebAssembly.Memory
  private readonly table: number
  private readonly origins: (ExactDifference | null)[]
  /** Of the columns with an origin, those that hold dates and times. */
  private readonly stamped = new Set<number>()

  /**
   * @param kind what becomes of each column, as the kernel's table has it
   * @param table the table's address in the memory
   */
  constructor(
    { decimal }: Pick<RowParserOptions, 'decimal'>,
    kind: Uint8Array,
    memory: WebAssembly.Memory,
    table: number,
  ) {
    this.decimal = decimal
    this.kind = kind
    this.memory = memory
    this.table = table
    this.origins = Array.from(kind, (one) => (one === EXACT ? new ExactDifference() : null))
  }

  /** The first value of a column stored as differences, as written in the file; null for other columns. */
  originOf(column: number): string | null {
    return this.origins[column]?.origin ?? null
  }

  /** The value of the cell in bytes [start, end) of the memory; NaN after setting the kernel's `odd` where it is none. */
  read(kernel: Kernel, column: number, start: number, end: number): number {
    const bytes = new Uint8Array(this.memory.buffer)
    const bare = bareCell(latin1(bytes, start, end))
    if (this.atEnd && column === this.kind.length - 1) this.lastCell = bare
    if (this.kind[column] === EXACT) {
      const difference = this.exactCell(column, bare)
      if (difference !== undefined) return difference
    }
    const number = this.inexact(column, cellNumber(bare, this.decimal))
    if (number !== null && !(this.kind[column] === F32 && tooLargeForFloat(number))) return number
    // A record may be tried again when more of the text is there.
    if (kernel.odd.value === 0) this.oddities = []
    kernel.odd.value = 1
    const why =
      number === null
        ? whyNoNumber(bareCell(new TextDecoder().decode(bytes.subarray(start, end))))
        : `${JSON.stringify(bare)} is larger than a 32-bit number can hold`
    this.oddities.push({ column, line: kernel.line.value, why })
    return NaN
  }

  /** A number that exactCell passed over (it has an exponent) as a difference; none stands among dates. */
  private inexact(column: number, number: number | null): number | null {
    const origin = this.origins[column]?.origin
    if (number === null || !Number.isFinite(number) || origin == null) return number
    return this.stamped.has(column) ? null : number - Number(origin)
  }

  /** A stamp as an exact difference; the first one's digits go into the kernel's table when they fit. */
  private exactCell(column: number, bare: string): number | undefined {
    const origin = this.origins[column] as ExactDifference
    const isFirst = origin.origin === null
    const stamp = isFirst || this.stamped.has(column) ? isoSeconds(bare) : null
    if (stamp !== null) {
      this.stamped.add(column)
      return origin.difference(stamp, '.')
    }
    if (this.stamped.has(column)) return undefined
    const difference = origin.difference(bare, this.decimal)
    if (isFirst && origin.origin !== null && origin.digits < 2n ** 63n && origin.digits > -(2n ** 63n)) {
      const table = new DataView(this.memory.buffer, this.table + column * ENTRY, ENTRY)
      table.setUint8(ENTRY_ORIGIN_SET, origin.decimals <= 22 ? 1 : 0)
      table.setUint16(ENTRY_DECIMALS, origin.decimals, true)
      table.setBigInt64(ENTRY_ORIGIN, origin.digits, true)
    }
    return difference
  }
}

function tooLargeForFloat(value: number): boolean {
  return Number.isFinite(value) && !Number.isFinite(Math.fround(value))
}

/** Bytes as text, one character a byte: numbers need no more, and it never fails. */
export function latin1(bytes: Uint8Array, from: number, to: number): string {
  let text = ''
  for (let at = from; at < to; at += 1) text += String.fromCharCode(bytes[at] as number)
  return text
}
