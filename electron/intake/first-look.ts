import { sizeOf } from '../../workers/columns/evidence.ts'
import { headerKey } from '../../workers/columns/header-key.ts'
import { nameColumns } from '../../workers/columns/name-columns.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { Inspection, LogColumn, Notice } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { RowParser, type CellTarget } from '../../workers/text/row-parser.ts'
import { sniffTable, type TableShape } from '../../workers/text/sniff.ts'
import { splitLine } from '../../workers/text/split-line.ts'
import { openLog, textBytes } from './byte-source.ts'
import { storageOf } from './column-storage.ts'
import { headText, markLength } from './head-text.ts'
import { headLinesOf, parserOptions, skipLines } from './table-start.ts'

/** How much of the text is looked at before the whole is read. */
export const LOOK_BYTES = 4 << 20
/** A table of very many columns needs more for the same few lines. */
const MOST_LOOK_BYTES = 24 << 20
const FEWEST_LINES = 8
const SNIFF_BYTES = 256 << 10
const EXAMPLES = 3

/** The first look with what the whole reading needs besides. */
export interface FirstLook {
  readonly inspection: Inspection
  readonly shape: TableShape
  /** How each column is to be stored, should it be. */
  readonly targets: readonly CellTarget[]
  /** The header's and units' lines as bytes. */
  readonly headLines: readonly Uint8Array[]
  /** Bytes of a byte order mark before the text. */
  readonly mark: 0 | 3
}

/**
 * Looks at the beginning of a log: dialect, names, and what the columns mean. Stores nothing.
 * @param stop called between slices; throws to end the look
 */
export async function firstLook(path: string, fileName: string, stop: () => void): Promise<FirstLook> {
  const log = await openLog(path, fileName)
  let head: Uint8Array
  let complete = true
  let cut = false
  try {
    const parts: Uint8Array[] = []
    let length = 0
    let lines = 0
    const ignore = (): void => undefined
    for await (const slice of textBytes(log, fileName, ignore, () => (cut = true))) {
      stop()
      if (length >= (lines < FEWEST_LINES ? MOST_LOOK_BYTES : LOOK_BYTES)) {
        complete = false
        break
      }
      parts.push(slice.slice())
      for (let at = slice.indexOf(10); at >= 0 && lines < FEWEST_LINES; at = slice.indexOf(10, at + 1))
        lines += 1
      length += slice.byteLength
    }
    head = join(parts, length)
  } finally {
    await log.handle.close()
  }
  if (head.byteLength === 0) throw new Problem('empty-file', `${fileName} holds no text.`, { file: fileName })
  const mark = markLength(head)
  const enough = head.subarray(0, SNIFF_BYTES).filter((byte) => byte === 10).length >= FEWEST_LINES
  const sniffBytes = enough ? SNIFF_BYTES : head.byteLength
  const sniffed = headText(head.subarray(0, sniffBytes), fileName)
  const shape = sniffTable(sniffed, complete && !cut && head.byteLength <= sniffBytes, fileName)
  const sample = await parseSample(head.subarray(mark), shape, fileName, complete)
  const assignments = nameColumns({ names: shape.names, unitTexts: shape.unitTexts, samples: sample.columns })
  const time = assignments.find((assignment) => assignment.role === 'time')
  const examples = exampleCells(sniffed, shape)
  const targets = shape.names.map((_, column): CellTarget => {
    const values = sample.columns[column]
    return values ? storageOf(values, examples[column] ?? [], column === time?.column) : 'skip'
  })
  const columns = shape.names.map((name, index): LogColumn => {
    const target = targets[index]
    const type = target === 'skip' ? 'text' : target === 'f32' ? 'f32' : 'f64'
    return { index, name, type, examples: examples[index] ?? [], ...rangeOf(sample.columns[index] ?? null) }
  })
  const inspection: Inspection = {
    fileName,
    bytes: log.bytes,
    dialect: { ...shape.dialect, compression: log.compression === 'none' ? 'none' : 'gzip' },
    preamble: shape.preamble,
    headerKey: headerKey(shape.names),
    columns,
    assignments,
    notices: lookNotices(shape, assignments, cut),
  }
  return { inspection, shape, targets, headLines: headLinesOf(head.subarray(mark), shape), mark }
}

/** Notices that need no more than the first look. */
function lookNotices(shape: TableShape, assignments: readonly Assignment[], cut: boolean): Notice[] {
  const notices: Notice[] = []
  const seen = new Set<string>()
  const twice = new Set(shape.names.filter((name) => seen.size === seen.add(name).size))
  if (twice.size > 0) {
    const names = [...twice].slice(0, 3).map((name) => `“${name}”`)
    const text = `The header gives the same name to several columns (${names.join(', ')}); they are told apart by their place.`
    notices.push({ level: 'caution', text })
  }
  if (shape.dialect.headerLine === 0) {
    notices.push({
      level: 'caution',
      text: 'The file has no header: its columns are judged by their numbers alone.',
    })
  }
  if (!assignments.some((assignment) => assignment.role === 'time')) {
    notices.push({
      level: 'missing',
      text: 'No time column was found.',
      cost: 'The log can’t be read without one.',
    })
  }
  if (cut) notices.push({ level: 'caution', text: 'The archive ends too early; what there is was read.' })
  return notices
}

async function parseSample(
  text: Uint8Array,
  shape: TableShape,
  file: string,
  complete: boolean,
): Promise<{ columns: (Float64Array | null)[] }> {
  const start = skipLines(text, shape)
  const count = shape.names.length
  const newline = shape.newline.charCodeAt(0)
  let rows = 1
  for (let at = text.indexOf(newline, start); at >= 0; at = text.indexOf(newline, at + 1)) rows += 1
  const columns = Array.from({ length: count }, () => new Float64Array(rows).fill(NaN))
  const groupRows = Math.max(1, Math.min(4096, Math.floor((1 << 20) / count)))
  let done = 0
  const parser = new RowParser({
    ...parserOptions(shape, headLinesOf(text, shape), file),
    targets: shape.names.map(() => 'f64'),
    required: shape.names.map(() => false),
    groupRows,
    onGroup: (group) => {
      for (let column = 0; column < count; column += 1) {
        const from = column * groupRows
        columns[column]?.set(group.f64.subarray(from, from + group.rows), done)
      }
      done += group.rows
    },
  })
  const end = complete ? text.byteLength : text.lastIndexOf(newline) + 1
  await parser.push(text.subarray(start, end))
  await parser.end(false)
  const first = shape.dialect.firstDataLine
  const textFrom = new Map(parser.setAside.map((one) => [one.column, one.line]))
  return {
    columns: columns.map((values, column) => {
      const line = textFrom.get(column)
      const sample = values.subarray(0, done)
      if (line === undefined) return sample
      // Text from the start is a column of text; text after some numbers is damage, judged when all is read.
      const numbers = sample.subarray(0, Math.max(0, line - first)).filter(Number.isFinite).length
      if (numbers < Math.min(8, done / 2)) return null
      sample.fill(NaN, Math.max(0, line - first))
      return sample
    }),
  }
}

/** The first rows' cells as written, column by column. */
function exampleCells(text: string, shape: TableShape): string[][] {
  const lines = text
    .split(shape.newline, shape.dialect.firstDataLine + 8)
    .slice(shape.dialect.firstDataLine - 1)
  const rows = lines
    .filter((line) => line.trim() !== '')
    .slice(0, EXAMPLES)
    .map((line) => splitLine(line, shape.dialect.separator))
  return shape.names.map((_, column) =>
    rows.flatMap((row) => (row[column] === undefined ? [] : [row[column]])),
  )
}

function rangeOf(values: Float64Array | null): { min: number | null; max: number | null } {
  if (!values) return { min: null, max: null }
  const { min, max } = sizeOf(values)
  return min <= max ? { min, max } : { min: null, max: null }
}

function join(parts: readonly Uint8Array[], length: number): Uint8Array {
  const whole = new Uint8Array(length)
  let at = 0
  for (const part of parts) {
    whole.set(part, at)
    at += part.byteLength
  }
  return whole
}
