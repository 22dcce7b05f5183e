import { isoSeconds } from '../clock/iso-stamp.ts'
import type { Dialect } from '../log/log.ts'
import { Problem } from '../log/problems.ts'
import { bareCell, cellNumber, whyNoNumber } from './cell.ts'
import {
  ENTRY,
  ENTRY_DECIMALS,
  ENTRY_ORIGIN,
  ENTRY_ORIGIN_SET,
  ENTRY_PLANE,
  EXACT,
  F32,
  F64,
  FULL,
  growMemory,
  LEVEL_BLOCK,
  makeKernel,
  makeMemory,
  MORE,
  ODD,
  planMemory,
  SKIP,
  type Kernel,
  type MemoryPlan,
} from './kernel/rows-kernel.ts'
import { ExactDifference } from './exact-difference.ts'

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

/** No line of a log is as long as this; a longer one is another kind of file. */
const MAX_RECORD = 16 << 20
/** Text is parsed in pieces that stay in the processor's cache. */
const PIECE = 64 << 10
/** Bytes behind the text that the kernel may touch. */
const SPARE = 64
const CR = 13

/**
 * Reads rows of numbers from bytes as they come, without a string per cell. The inner loop is the compiled kernel
 * (kernel/rows.as); cells that it does not settle come here as text and get the double nearest to what they say.
 * 32-bit values are that double rounded once more.
 */
export class RowParser {
  /** Rows finished so far. */
  rows = 0
  readonly setAside: SetAside[] = []
  /** Rows before which the header stood again. */
  readonly restarts: number[] = []
  /** Per column, of the groups handed on; Infinity and -Infinity while there was no finite number. */
  readonly min: Float64Array
  readonly max: Float64Array
  /** The last line had no line end but all its cells. */
  endedWithoutNewline = false
  /** The last line was dropped because cells were missing. */
  droppedLine: number | null = null

  private readonly options: RowParserOptions
  private readonly kind: Uint8Array
  private readonly origins: (ExactDifference | null)[]
  /** Of these, the columns that hold dates and times. */
  private readonly stamped = new Set<number>()
  private readonly wide: number[] = []
  private readonly narrow: number[] = []
  private readonly memory: WebAssembly.Memory
  private readonly plan: MemoryPlan
  private readonly kernel: Kernel
  private readonly newline: number
  /** The set of planes that is being filled, and how many of its rows are: those that follow are in the small planes. */
  private side: 0 | 1 = 0
  private spilled = 0
  /** Bytes of text that wait for the rest of their record. */
  private waiting = 0
  private oddities: SetAside[] = []
  private atEnd = false
  /** The last column's cell in the file's last line, when it was read as text. */
  private lastCell = 'a plain number'

  constructor(options: RowParserOptions) {
    const { targets, names, groupRows } = options
    this.options = options
    this.newline = options.newline.charCodeAt(0)
    this.min = new Float64Array(names.length).fill(Infinity)
    this.max = new Float64Array(names.length).fill(-Infinity)
    this.kind = Uint8Array.from(targets, (target) => KINDS[target])
    this.origins = targets.map((target) => (target === 'f64-origin' ? new ExactDifference() : null))
    this.kind.forEach((kind, column) => {
      if (kind === F32) this.narrow.push(column)
      else if (kind !== SKIP) this.wide.push(column)
    })
    this.plan = planMemory(names.length, this.wide.length, this.narrow.length, groupRows)
    const bytes = this.plan.text + 2 * PIECE + SPARE
    this.memory = options.memory ?? makeMemory(bytes)
    if (options.memory) {
      growMemory(this.memory, bytes)
      // Constants, table and small planes begin as zeros.
      new Uint8Array(this.memory.buffer).fill(0, 0, this.plan.f64[0])
    }
    this.kernel = makeKernel(this.memory, (column, start, end) => this.slowCell(column, start, end))
    this.layOut()
    this.kernel.line.value = options.firstLine
    this.kernel.start(
      options.separator.charCodeAt(0),
      options.decimal.charCodeAt(0),
      this.newline,
      names.length,
      options.trailingSeparator ? 1 : 0,
      this.plan.table,
      this.plan.stride32,
    )
    this.kernel.renewPairs()
    this.kernel.limit.value = this.plan.batchRows
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

  /** Line number of the next record. */
  get line(): number {
    return this.kernel.line.value
  }

  /** The first value of a column stored as differences, as written in the file; null for other columns. */
  originOf(column: number): string | null {
    return this.origins[column]?.origin ?? null
  }

  /** The column's name as in the header. */
  nameOf(column: number): string {
    return this.options.names[column] ?? ''
  }

  /** Takes the next bytes of the file. They are not kept: an unfinished record is copied. */
  async push(bytes: Uint8Array): Promise<void> {
    for (let from = 0; from < bytes.byteLength; from += PIECE)
      await this.pushPiece(bytes.subarray(from, from + PIECE))
  }

  private async pushPiece(piece: Uint8Array): Promise<void> {
    const end = this.plan.text + this.waiting + piece.byteLength
    growMemory(this.memory, end + SPARE)
    new Uint8Array(this.memory.buffer).set(piece, this.plan.text + this.waiting)
    this.waiting += piece.byteLength
    // Without a line end there is no whole record: nothing to try yet.
    if (this.waiting > piece.byteLength && !piece.includes(this.newline)) this.checkLength()
    else await this.run(false)
  }

  private checkLength(): void {
    if (this.waiting <= MAX_RECORD) return
    const { file } = this.options
    const message = `${file}, line ${this.line} is longer than any line of a log.`
    throw new Problem('not-text', message, { file, line: this.line })
  }

  /** Says that the file is over. `cut` when it is known to end too early, as a broken archive does. */
  async end(cut: boolean): Promise<void> {
    if (this.waiting > 0) {
      const before = this.rows
      const at = this.line
      this.atEnd = true
      await this.run(true)
      if (this.rows > before) this.endedWithoutNewline = true
      else if (this.droppedLine === null && cut) this.droppedLine = at
    }
    this.spill()
    if (this.spilled > 0) await this.flush()
  }

  /** Parses the text in memory as far as it holds whole records, and moves the rest to the front. */
  private async run(final: boolean): Promise<void> {
    const end = this.plan.text + this.waiting
    let from = this.plan.text
    for (;;) {
      const before = this.kernel.row.value
      const status = this.kernel.parse(from, end, final ? 1 : 0)
      this.rows += this.kernel.row.value - before
      from = this.kernel.pos.value
      if (status === MORE) break
      if (status === FULL) await this.full()
      else if (!(await this.handle(status, end))) {
        from = end
        break
      } else from = this.kernel.pos.value
    }
    new Uint8Array(this.memory.buffer).copyWithin(this.plan.text, from, end)
    this.waiting = end - from
  }

  /** Settles a record that the kernel does not. Returns false when the text is over with it. */
  private async handle(status: number, end: number): Promise<boolean> {
    const { kernel } = this
    const bytes = new Uint8Array(this.memory.buffer)
    const start = kernel.recordStart.value
    const at = kernel.pos.value
    const odd = kernel.odd.value === 0 ? [] : this.oddities
    if (status !== ODD || odd.length > 0) {
      const after = this.headAgain(bytes, start, end)
      if (after > 0) {
        kernel.pos.value = after
        return true
      }
    }
    if (status !== ODD) return this.wrongCount(bytes, start, at, kernel.cells.value)
    if (this.atEnd && this.isCutShort(bytes, at, odd)) {
      this.droppedLine = this.line
      return false
    }
    this.settle(odd)
    kernel.line.value += 1 + kernel.breaks.value
    kernel.row.value += 1
    this.rows += 1
    if (kernel.row.value === kernel.limit.value) await this.full()
    return true
  }

  /** Empties the small planes, and hands the group on when that fills it. */
  private async full(): Promise<void> {
    this.spill()
    if (this.spilled === this.options.groupRows) await this.flush()
  }

  /** Moves the rows from the small planes to those of the group. */
  private spill(): void {
    const { kernel, plan, side, spilled } = this
    const { groupRows } = this.options
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
    const { memory, plan, side, spilled } = this
    const { groupRows, onGroup } = this.options
    const { buffer } = memory as { buffer: ArrayBuffer }
    const blocks = Math.ceil(groupRows / LEVEL_BLOCK)
    const ranges = new Float64Array(buffer, plan.ranges, 2 * (this.wide.length + this.narrow.length))
    ;[...this.wide, ...this.narrow].forEach((column, place) => {
      this.min[column] = ranges[2 * place] as number
      this.max[column] = ranges[2 * place + 1] as number
    })
    await onGroup({
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

  /** A cell as text: called by the kernel. */
  private slowCell(column: number, start: number, end: number): number {
    const { decimal, names } = this.options
    const bytes = new Uint8Array(this.memory.buffer)
    const bare = bareCell(latin1(bytes, start, end))
    if (this.atEnd && column === names.length - 1) this.lastCell = bare
    if (this.kind[column] === EXACT) {
      const difference = this.exactCell(column, bare)
      if (difference !== undefined) return difference
    }
    const number = this.inexact(column, cellNumber(bare, decimal))
    if (number !== null && !(this.kind[column] === F32 && tooLargeForFloat(number))) return number
    // A record may be tried again when more of the text is there.
    if (this.kernel.odd.value === 0) this.oddities = []
    this.kernel.odd.value = 1
    const why =
      number === null
        ? whyNoNumber(bareCell(new TextDecoder().decode(bytes.subarray(start, end))))
        : `${JSON.stringify(bare)} is larger than a 32-bit number can hold`
    this.oddities.push({ column, line: this.line, why })
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
    const difference = origin.difference(bare, this.options.decimal)
    if (isFirst && origin.origin !== null && origin.digits < 2n ** 63n && origin.digits > -(2n ** 63n)) {
      const table = new DataView(this.memory.buffer, this.plan.table + column * ENTRY, ENTRY)
      table.setUint8(ENTRY_ORIGIN_SET, origin.decimals <= 22 ? 1 : 0)
      table.setUint16(ENTRY_DECIMALS, origin.decimals, true)
      table.setBigInt64(ENTRY_ORIGIN, origin.digits, true)
    }
    return difference
  }

  /**
   * Whether the file's last line, which no line end closes, was cut in its last cell: text where the rows before
   * had numbers, or nothing at all.
   */
  private isCutShort(bytes: Uint8Array, at: number, odd: readonly SetAside[]): boolean {
    const last = bytes[at - 1]
    if (last === this.newline || last === CR || this.rows === 0) return false
    if (odd.length > 0) return true
    // An empty cell or a lone sign; a word for "no value" was written out in full.
    return /^[+-]?$/.test(this.lastCell) && this.hadNumbers(this.options.names.length - 1)
  }

  private hadNumbers(column: number): boolean {
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

  /** Text in a needed column ends the reading; any other column is set aside from here on. */
  private settle(odd: readonly SetAside[]): void {
    const { required, file } = this.options
    for (const one of odd) {
      const name = this.nameOf(one.column)
      if (required[one.column]) {
        throw new Problem(
          'bad-number',
          `${file}, line ${one.line}, column ${one.column + 1} (${name}): ${one.why}.`,
          { file, line: one.line, column: one.column + 1, columnName: name },
        )
      }
      // The plane stays, so that the others keep their places; its values no longer mean anything.
      new Uint8Array(this.memory.buffer)[this.plan.table + one.column * ENTRY] = SKIP
      this.setAside.push(one)
    }
    if (odd.length > 0) this.kernel.renewPairs()
  }

  /** A row with too many or too few cells. Returns false when it is the file's cut-off last line. */
  private wrongCount(bytes: Uint8Array, start: number, at: number, cells: number): boolean {
    const { names, file } = this.options
    if (this.atEnd && cells < names.length) {
      this.droppedLine = this.line
      return false
    }
    const text = latin1(bytes, start, Math.min(at, start + 4096))
    if (text.includes('\0')) {
      throw new Problem(
        'not-text',
        `${file}, line ${this.line} holds zero bytes: the file is damaged there.`,
        {
          file,
          line: this.line,
        },
      )
    }
    const word = cells < names.length ? 'few' : 'many'
    throw new Problem(
      'bad-row',
      `${file}, line ${this.line} has too ${word} cells: ${cells} where the header has ${names.length}.`,
      { file, line: this.line, column: Math.min(cells, names.length) },
    )
  }

  /** When the header (or units) stand here again, notes a restart and returns the position after their line. */
  private headAgain(bytes: Uint8Array, start: number, end: number): number {
    for (const line of this.options.headLines) {
      if (line.length === 0 || start + line.length > end) continue
      if (!line.every((byte, index) => bytes[start + index] === byte)) continue
      let after = start + line.length
      if (after < end && bytes[after] === CR && this.newline !== CR) after += 1
      if (after < end && bytes[after] !== this.newline) continue
      this.kernel.line.value += 1
      if (this.restarts[this.restarts.length - 1] !== this.rows) this.restarts.push(this.rows)
      return Math.min(end, after + 1)
    }
    return 0
  }
}

const KINDS: Readonly<Record<CellTarget, number>> = { skip: SKIP, f32: F32, f64: F64, 'f64-origin': EXACT }

function tooLargeForFloat(value: number): boolean {
  return Number.isFinite(value) && !Number.isFinite(Math.fround(value))
}

/** Bytes as text, one character a byte: numbers need no more, and it never fails. */
function latin1(bytes: Uint8Array, from: number, to: number): string {
  let text = ''
  for (let at = from; at < to; at += 1) text += String.fromCharCode(bytes[at] as number)
  return text
}
