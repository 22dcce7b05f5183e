import { Problem } from '../log/problems.ts'
import {
  ENTRY,
  EXACT,
  F32,
  F64,
  FULL,
  growMemory,
  makeKernel,
  makeMemory,
  MORE,
  ODD,
  planMemory,
  SKIP,
  type Kernel,
  type MemoryPlan,
} from './kernel/rows-kernel.ts'
import { columnsByWidth, RowPlanes } from './row-planes.ts'
import type { CellTarget, RowParserOptions, SetAside } from './row-types.ts'
import { latin1, SlowCells } from './slow-cells.ts'

export type { CellTarget, RowGroup, RowParserOptions, SetAside } from './row-types.ts'

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
  /** The last line had no line end but all its cells. */
  endedWithoutNewline = false
  /** The last line was dropped because cells were missing. */
  droppedLine: number | null = null

  private readonly options: RowParserOptions
  private readonly memory: WebAssembly.Memory
  private readonly plan: MemoryPlan
  private readonly kernel: Kernel
  private readonly cells: SlowCells
  private readonly planes: RowPlanes
  private readonly newline: number
  /** Bytes of text that wait for the rest of their record. */
  private waiting = 0

  constructor(options: RowParserOptions) {
    const { targets, names, groupRows } = options
    this.options = options
    this.newline = options.newline.charCodeAt(0)
    const kind = Uint8Array.from(targets, (target) => KINDS[target])
    const [wide, narrow] = columnsByWidth(kind)
    this.plan = planMemory(names.length, wide.length, narrow.length, groupRows)
    const bytes = this.plan.text + 2 * PIECE + SPARE
    this.memory = options.memory ?? makeMemory(bytes)
    if (options.memory) {
      growMemory(this.memory, bytes)
      // Constants, table and small planes begin as zeros.
      new Uint8Array(this.memory.buffer).fill(0, 0, this.plan.f64[0])
    }
    this.cells = new SlowCells(options, kind, this.memory, this.plan.table)
    this.kernel = makeKernel(this.memory, (column, start, end) =>
      this.cells.read(this.kernel, column, start, end),
    )
    this.planes = new RowPlanes(options, kind, this.memory, this.plan, this.kernel)
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

  /** Per column, smallest of the groups handed on; Infinity while there was no finite number. */
  get min(): Float64Array {
    return this.planes.min
  }

  /** Largest; -Infinity while there was none. */
  get max(): Float64Array {
    return this.planes.max
  }

  /** Line number of the next record. */
  get line(): number {
    return this.kernel.line.value
  }

  /** The first value of a column stored as differences, as written in the file; null for other columns. */
  originOf(column: number): string | null {
    return this.cells.originOf(column)
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
      this.cells.atEnd = true
      await this.run(true)
      if (this.rows > before) this.endedWithoutNewline = true
      else if (this.droppedLine === null && cut) this.droppedLine = at
    }
    await this.planes.end()
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
      if (status === FULL) await this.planes.full()
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
    const odd = kernel.odd.value === 0 ? [] : this.cells.oddities
    if (status !== ODD || odd.length > 0) {
      const after = this.headAgain(bytes, start, end)
      if (after > 0) {
        kernel.pos.value = after
        return true
      }
    }
    if (status !== ODD) return this.wrongCount(bytes, start, at, kernel.cells.value)
    if (this.cells.atEnd && this.isCutShort(bytes, at, odd)) {
      this.droppedLine = this.line
      return false
    }
    this.settle(odd)
    kernel.line.value += 1 + kernel.breaks.value
    kernel.row.value += 1
    this.rows += 1
    if (kernel.row.value === kernel.limit.value) await this.planes.full()
    return true
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
    return /^[+-]?$/.test(this.cells.lastCell) && this.planes.hadNumbers(this.options.names.length - 1)
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
    if (this.cells.atEnd && cells < names.length) {
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
