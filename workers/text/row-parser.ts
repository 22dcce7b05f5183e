import type { Dialect } from '../log/log.ts'
import { Problem } from '../log/problems.ts'
import { bareCell, cellNumber, whyNoNumber } from './cell.ts'
import { concatenate, countOf, endOfCell, latin1 } from './bytes.ts'
import { ExactDifference } from './exact-difference.ts'

/** What becomes of a column: numbers of 32 or 64 bits, 64-bit differences to an exact origin, or nothing. */
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
  /** Called with each full group and at the end with the last; the arrays are reused afterwards. */
  readonly onGroup: (group: RowGroup) => void
}

/** Rows in memory: column after column, each `groupRows` long, 64-bit columns and 32-bit columns apart. */
export interface RowGroup {
  readonly rows: number
  readonly f32: Float32Array
  readonly f64: Float64Array
}

/** A column that holds something else than numbers further down. */
export interface SetAside {
  readonly column: number
  readonly line: number
  readonly why: string
}

/** No line of a log is as long as this; a longer one is another kind of file. */
const MAX_RECORD = 16 << 20
const POWERS = Float64Array.from({ length: 23 }, (_, exponent) => Number(`1e${exponent}`))
const QUOTE = 34
const MINUS = 45
const CR = 13
const SPACE = 32

/**
 * Reads rows of numbers from bytes as they come, without a string per cell.
 * Plain decimals of up to 15 digits are computed exactly (an integer below 2^53 times or over a power of ten up to
 * 10^22 is correctly rounded); everything else goes through `cellNumber`, which gives the nearest double.
 * 32-bit values are that double rounded once more.
 */
export class RowParser {
  /** Rows finished so far. */
  rows = 0
  /** Line number of the next record. */
  line: number
  readonly setAside: SetAside[] = []
  /** Rows before which the header stood again. */
  readonly restarts: number[] = []
  /** Per column; Infinity and -Infinity while there was no number. Infinite values don't count. */
  readonly min: Float64Array
  readonly max: Float64Array
  /** The last line had no line end but all its cells. */
  endedWithoutNewline = false
  /** The last line was dropped because cells were missing. */
  droppedLine: number | null = null

  private readonly options: RowParserOptions
  private readonly kind: Uint8Array
  private readonly base: Int32Array
  private readonly origins: (ExactDifference | null)[]
  private readonly f32: Float32Array
  private readonly f64: Float64Array
  private readonly head: readonly Uint8Array[]
  private inGroup = 0
  private carry = new Uint8Array(0)
  private oddities: SetAside[] = []
  private atEnd = false
  /** The last column's cell in the file's last line, when it took the slow path. */
  private lastCell = 'a plain number'

  constructor(options: RowParserOptions) {
    this.options = options
    this.line = options.firstLine
    const columns = options.names.length
    this.min = new Float64Array(columns).fill(Infinity)
    this.max = new Float64Array(columns).fill(-Infinity)
    this.kind = Uint8Array.from(options.targets, (target) =>
      target === 'skip' ? SKIP : target === 'f32' ? F32 : F64,
    )
    this.base = new Int32Array(columns)
    this.origins = options.targets.map((target) => (target === 'f64-origin' ? new ExactDifference() : null))
    let narrow = 0
    let wide = 0
    options.targets.forEach((target, column) => {
      if (target === 'f32') this.base[column] = options.groupRows * narrow++
      else if (target !== 'skip') this.base[column] = options.groupRows * wide++
      if (target === 'f64-origin') this.kind[column] = EXACT
    })
    this.f32 = new Float32Array(narrow * options.groupRows)
    this.f64 = new Float64Array(wide * options.groupRows)
    this.head = options.headLines
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
  push(bytes: Uint8Array): void {
    let from = 0
    if (this.carry.length > 0) {
      // Finish the carried record with as little copying as possible: up to the next line end.
      const newline = this.options.newline === '\n' ? 10 : 13
      let end = bytes.indexOf(newline)
      for (;;) {
        const upTo = end < 0 ? bytes.length : end + 1
        const joined = concatenate(this.carry, bytes.subarray(from, upTo))
        const used = end < 0 ? 0 : this.parse(joined, 0, joined.length, false)
        from = upTo
        this.carry = used === joined.length ? new Uint8Array(0) : joined.slice(used)
        if (this.carry.length === 0 || from === bytes.length) break
        end = bytes.indexOf(newline, from)
      }
    }
    if (from < bytes.length && this.carry.length === 0) {
      const used = this.parse(bytes, from, bytes.length, false)
      if (used < bytes.length) this.carry = bytes.slice(used)
    }
    if (this.carry.length > MAX_RECORD) {
      const { file } = this.options
      throw new Problem('not-text', `${file}, line ${this.line} is longer than any line of a log.`, {
        file,
        line: this.line,
      })
    }
  }

  /** Says that the file is over. `cut` when it is known to end too early, as a broken archive does. */
  end(cut: boolean): void {
    if (this.carry.length > 0) {
      const before = this.rows
      const at = this.line
      this.atEnd = true
      this.parse(this.carry, 0, this.carry.length, true)
      if (this.rows > before) this.endedWithoutNewline = true
      else if (this.droppedLine === null && cut) this.droppedLine = at
    }
    if (this.inGroup > 0) this.flush()
  }

  private flush(): void {
    this.options.onGroup({ rows: this.inGroup, f32: this.f32, f64: this.f64 })
    this.inGroup = 0
  }

  /** Parses whole records and returns how far it came. With `final`, the end of the bytes ends the record. */
  private parse(bytes: Uint8Array, from: number, end: number, final: boolean): number {
    const { separator, decimal, newline, trailingSeparator, groupRows } = this.options
    const separatorByte = separator.charCodeAt(0)
    const decimalByte = decimal.charCodeAt(0)
    const newlineByte = newline.charCodeAt(0)
    const columns = this.options.names.length
    const spaces = separatorByte === SPACE
    const { kind, base, f32, f64, min, max } = this
    let at = from
    record: for (;;) {
      const start = at
      if (this.oddities.length > 0) this.oddities = []
      if (at >= end) return start
      let first = bytes[at] as number
      if (first === newlineByte) {
        at += 1
        this.line += 1
        continue
      }
      if (first === 35 || first === 37 || first === 47) {
        // A comment line among the rows.
        const stop = bytes.indexOf(newlineByte, at)
        if (stop < 0 || stop >= end) return final ? end : start
        at = stop + 1
        this.line += 1
        continue
      }
      if (spaces) {
        while (at < end && bytes[at] === SPACE) at += 1
        if (at >= end) return final ? end : start
        first = bytes[at] as number
      }
      if (first === CR && (at + 1 < end ? bytes[at + 1] === newlineByte : final)) {
        at = at + 1 < end ? at + 2 : end
        this.line += 1
        continue
      }
      const row = this.inGroup
      let column = 0
      // Line ends inside quotes.
      let breaks = 0
      for (;;) {
        // One cell, from `at`.
        const cellStart = at
        let value = 0
        let ok = false
        if (column < columns && kind[column] !== SKIP && kind[column] !== EXACT) {
          let byte = at < end ? (bytes[at] as number) : -1
          let negative = false
          if (byte === MINUS) {
            negative = true
            at += 1
            byte = at < end ? (bytes[at] as number) : -1
          }
          const digitsStart = at
          let mantissa = 0
          let digit = byte - 48
          while (digit >= 0 && digit <= 9) {
            mantissa = mantissa * 10 + digit
            at += 1
            digit = at < end ? (bytes[at] as number) - 48 : -1
          }
          let digits = at - digitsStart
          if (at < end && bytes[at] === decimalByte) {
            at += 1
            const fractionStart = at
            digit = at < end ? (bytes[at] as number) - 48 : -1
            while (digit >= 0 && digit <= 9) {
              mantissa = mantissa * 10 + digit
              at += 1
              digit = at < end ? (bytes[at] as number) - 48 : -1
            }
            const fraction = at - fractionStart
            digits += fraction
            if (fraction > 0 && fraction <= 22) mantissa /= POWERS[fraction] as number
            if (fraction === 0) digits = 0
          }
          if (digits > 0 && digits <= 15) {
            const next = at < end ? (bytes[at] as number) : -1
            if (next === separatorByte || next === newlineByte || next === CR || (next === -1 && final)) {
              ok = true
              value = negative ? -mantissa : mantissa
            }
          }
        }
        if (!ok) {
          at = endOfCell(bytes, cellStart, end, separatorByte, newlineByte)
          if (at >= end && !final) return start
          if (bytes[cellStart] === QUOTE) breaks += countOf(bytes, newlineByte, cellStart, at)
          if (column < columns && kind[column] !== SKIP) {
            const text = latin1(bytes, cellStart, at)
            const bare = bareCell(text)
            if (final && column === columns - 1) this.lastCell = bare
            const exact = kind[column] === EXACT ? this.origins[column]?.difference(bare, decimal) : undefined
            const number = exact ?? cellNumber(bare, decimal)
            if (number === null || (kind[column] === F32 && tooLargeForFloat(number))) {
              const after = this.headAgain(bytes, start, end, newlineByte)
              if (after > 0) {
                at = after
                continue record
              }
              this.oddities.push({
                column,
                line: this.line,
                why: this.whyNot(bytes, cellStart, at, bare, number),
              })
              value = NaN
            } else value = number
          }
        }
        if (column < columns && kind[column] !== SKIP) {
          if (kind[column] === F32) f32[(base[column] as number) + row] = value
          else f64[(base[column] as number) + row] = value
        }
        column += 1
        // What ends the cell.
        if (spaces) while (at < end && bytes[at] === SPACE) at += 1
        const stop = at < end ? (bytes[at] as number) : -1
        if (spaces && stop !== CR && stop !== newlineByte && stop !== -1) continue
        if (stop === separatorByte) {
          at += 1
          continue
        }
        if (stop === -1) {
          if (!final) return start
          break
        }
        if (stop === newlineByte) {
          at += 1
          break
        }
        if (stop === CR) {
          if (at + 1 >= end) {
            if (!final) return start
            at = end
          } else if (bytes[at + 1] === newlineByte) at += 2
          else at += 1
          break
        }
        at += 1
      }
      if (column !== columns && !(trailingSeparator && column === columns + 1)) {
        if (this.wrongCount(bytes, start, at, column)) return at
        continue
      }
      if (final && this.isCutShort(bytes, at)) {
        this.droppedLine = this.line
        return at
      }
      if (this.oddities.length > 0) this.settleOddities()
      for (let index = 0; index < columns; index += 1) {
        if (kind[index] === SKIP) continue
        const stored =
          kind[index] === F32
            ? (f32[(base[index] as number) + row] as number)
            : (f64[(base[index] as number) + row] as number)
        if (stored < (min[index] as number) && stored !== -Infinity) min[index] = stored
        if (stored > (max[index] as number) && stored !== Infinity) max[index] = stored
      }
      this.line += 1 + breaks
      this.rows += 1
      this.inGroup += 1
      if (this.inGroup === groupRows) this.flush()
    }
  }

  /**
   * Whether the file's last line, which no line end closes, was cut in its last cell: text where the rows before
   * had numbers, or nothing at all.
   */
  private isCutShort(bytes: Uint8Array, at: number): boolean {
    const last = bytes[at - 1]
    if (last === this.options.newline.charCodeAt(0) || last === CR || this.rows === 0) return false
    if (this.oddities.length > 0) return true
    const column = this.options.names.length - 1
    // An empty cell or a lone sign; a word for "no value" was written out in full.
    return /^[+-]?$/.test(this.lastCell) && (this.max[column] as number) !== -Infinity
  }

  private whyNot(bytes: Uint8Array, from: number, to: number, bare: string, number: number | null): string {
    if (number !== null) return `${JSON.stringify(bare)} is larger than a 32-bit number can hold`
    return whyNoNumber(bareCell(new TextDecoder().decode(bytes.subarray(from, to))))
  }

  /** Text in a needed column ends the reading; any other column is set aside from here on. */
  private settleOddities(): void {
    const { names, required, file } = this.options
    for (const odd of this.oddities) {
      if (required[odd.column]) {
        const name = names[odd.column] ?? ''
        throw new Problem(
          'bad-number',
          `${file}, line ${odd.line}, column ${odd.column + 1} (${name}): ${odd.why}.`,
          { file, line: odd.line, column: odd.column + 1, columnName: name },
        )
      }
      this.kind[odd.column] = SKIP
      this.setAside.push(odd)
    }
    this.oddities = []
  }

  /** A row with too many or too few cells. Returns true when it is the file's cut-off last line. */
  private wrongCount(bytes: Uint8Array, start: number, at: number, cells: number): boolean {
    const { names, file } = this.options
    this.oddities = []
    if (this.headAgain(bytes, start, bytes.length, this.options.newline.charCodeAt(0)) > 0) {
      return false
    }
    if (this.atEnd && cells < names.length) {
      this.droppedLine = this.line
      return true
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

  /** When the header (and units) stand here again, notes a restart and returns the position after their line. */
  private headAgain(bytes: Uint8Array, start: number, end: number, newlineByte: number): number {
    for (const line of this.head) {
      if (start + line.length > end) continue
      let same = line.length > 0
      for (let index = 0; same && index < line.length; index += 1) same = bytes[start + index] === line[index]
      if (!same) continue
      let after = start + line.length
      if (bytes[after] === CR) after += 1
      if (after >= end ? !this.atEnd : bytes[after] !== newlineByte) continue
      this.line += 1
      if (this.restarts[this.restarts.length - 1] !== this.rows) this.restarts.push(this.rows)
      return Math.min(end, after + 1)
    }
    return 0
  }
}

const SKIP = 0
const F32 = 1
const F64 = 2
const EXACT = 3

function tooLargeForFloat(value: number): boolean {
  return Number.isFinite(value) && !Number.isFinite(Math.fround(value))
}
