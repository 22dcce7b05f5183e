import type { FlightRecord } from './flight.ts'
import { styleColumns, type LogStyle } from './log-style.ts'
import { TextWriter } from './text-writer.ts'

export interface LogTextOptions {
  readonly style: LogStyle
  /** Lines above the header, each written as `# name = value`. */
  readonly preamble: readonly { readonly name: string; readonly value: string }[]
  /** The stamps to write, in seconds, one per row of `rows`; without it the record's own. */
  readonly stamps_s?: Float64Array
  /** Which rows of the record are written, in order; without it all. */
  readonly rows?: Int32Array
}

/** Writes a record as a delimited log: preamble, header, one line per row, ASCII. */
export function writeLog(record: FlightRecord, options: LogTextOptions): Uint8Array {
  const { style, rows } = options
  const count = rows?.length ?? record.rows
  const stamps_s = options.stamps_s ?? record.t_s
  if (stamps_s.length !== count) throw new Error(`stamps and rows differ: ${stamps_s.length}, ${count}`)
  const columns = styleColumns(record, stamps_s, style)
  const writer = new TextWriter(count * columns.length * 6 + 4096)
  for (const { name, value } of options.preamble) writer.text(`# ${name} = ${value}\n`)
  writer.text(columns.map((column) => column.name).join(style.separator) + '\n')
  const separator = style.separator.charCodeAt(0)
  const point = style.decimal.charCodeAt(0)
  const last = columns.length - 1
  for (let row = 0; row < count; row++) {
    const source = rows === undefined ? row : rows[row]!
    for (let index = 0; index <= last; index++) {
      const column = columns[index]!
      const at = column.group === 'time' ? row : source
      writer.number(column.values[at]! * column.factor + column.shift, column.decimals, point)
      writer.byte(index === last ? NEWLINE : separator)
    }
  }
  return writer.done()
}

const NEWLINE = 10
