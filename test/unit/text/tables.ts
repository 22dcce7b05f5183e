import { RowParser, type CellTarget } from '../../../workers/text/row-parser.ts'
import { sniffTable, type TableShape } from '../../../workers/text/sniff.ts'

/** A text read by sniffing and parsing, as the intake does, in slices of the given size. */
export interface ReadTable {
  readonly shape: TableShape
  readonly columns: Float64Array[]
  readonly parser: RowParser
}

/** Reads a whole text into doubles. */
export async function readTable(
  text: string,
  options: {
    slice?: number
    target?: CellTarget
    required?: boolean
    groupRows?: number
    memory?: WebAssembly.Memory
  } = {},
): Promise<ReadTable> {
  const { slice = 65_536, target = 'f64', required = true, groupRows = 48, memory } = options
  const shape = sniffTable(text, true, 'table.csv')
  const count = shape.names.length
  const rows: number[][] = Array.from({ length: count }, () => [])
  const encoder = new TextEncoder()
  const parser = new RowParser({
    separator: shape.dialect.separator,
    decimal: shape.dialect.decimal,
    newline: shape.newline,
    firstLine: shape.dialect.firstDataLine,
    trailingSeparator: shape.trailingSeparator,
    names: shape.names,
    headLines: shape.headLines.map((number) =>
      encoder.encode((text.split(shape.newline)[number - 1] ?? '').replace(/\r$/, '')),
    ),
    targets: shape.names.map(() => target),
    required: shape.names.map(() => required),
    file: 'table.csv',
    groupRows,
    ...(memory ? { memory } : {}),
    onGroup: (group) => {
      const values = target === 'f32' ? group.f32 : group.f64
      rows.forEach((column, index) => {
        for (let row = 0; row < group.rows; row += 1) column.push(values[index * groupRows + row] as number)
      })
    },
  })
  const newline = shape.newline
  let start = 0
  for (let line = 1; line < shape.dialect.firstDataLine; line += 1) start = text.indexOf(newline, start) + 1
  const bytes = encoder.encode(text.slice(start))
  for (let from = 0; from < bytes.length; from += slice) await parser.push(bytes.slice(from, from + slice))
  await parser.end(false)
  return { shape, columns: rows.map((column) => Float64Array.from(column)), parser }
}
