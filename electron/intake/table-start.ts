import type { RowParserOptions } from '../../workers/text/row-parser.ts'
import type { TableShape } from '../../workers/text/sniff.ts'

/** What the row parser needs to know of a sniffed table. */
export function parserOptions(
  shape: TableShape,
  headLines: readonly Uint8Array[],
  file: string,
): Omit<RowParserOptions, 'targets' | 'required' | 'groupRows' | 'onGroup'> {
  return {
    separator: shape.dialect.separator,
    decimal: shape.dialect.decimal,
    newline: shape.newline,
    firstLine: shape.dialect.firstDataLine,
    trailingSeparator: shape.trailingSeparator,
    names: shape.names,
    headLines,
    file,
  }
}

/** The header's and units' lines as they stand in a text that holds them whole. */
export function headLinesOf(text: Uint8Array, shape: TableShape): Uint8Array[] {
  const newline = shape.newline.charCodeAt(0)
  return shape.headLines.map((number) => {
    const start = startOfLine(text, number, newline)
    const end = text.indexOf(newline, start)
    const line = text.slice(start, end < 0 ? text.byteLength : end)
    return line.at(-1) === 13 ? line.subarray(0, -1) : line
  })
}

/** Position of the first row in a text that holds all lines above it. */
export function skipLines(text: Uint8Array, shape: TableShape): number {
  return startOfLine(text, shape.dialect.firstDataLine, shape.newline.charCodeAt(0))
}

function startOfLine(text: Uint8Array, number: number, newline: number): number {
  let at = 0
  for (let line = 1; line < number; line += 1) {
    at = text.indexOf(newline, at) + 1
    if (at === 0) throw new Error(`the text has no line ${number}`)
  }
  return at
}

/** Lets the bytes through that follow a byte order mark and the lines above the first row. */
export class HeadSkipper {
  private mark: number
  private lines: number
  private readonly newline: number

  constructor(shape: TableShape, mark: number) {
    this.mark = mark
    this.lines = shape.dialect.firstDataLine - 1
    this.newline = shape.newline.charCodeAt(0)
  }

  /** The part of this slice that belongs to the rows. */
  rest(slice: Uint8Array): Uint8Array {
    let from = Math.min(this.mark, slice.byteLength)
    this.mark -= from
    while (this.lines > 0 && from < slice.byteLength) {
      const end = slice.indexOf(this.newline, from)
      if (end < 0) return slice.subarray(slice.byteLength)
      from = end + 1
      this.lines -= 1
    }
    return slice.subarray(from)
  }
}
