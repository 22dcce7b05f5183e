import { createHash } from 'node:crypto'
import { isoSeconds } from '../../../workers/clock/iso-stamp.ts'
import type { Notice } from '../../../workers/log/log.ts'
import { Problem } from '../../../workers/log/problems.ts'
import { RowParser, type CellTarget, type SetAside } from '../../../workers/text/row-parser.ts'
import { sniffTable, type TableShape } from '../../../workers/text/sniff.ts'
import { splitLine } from '../../../workers/text/split-line.ts'
import type { UnitId } from '../../../workers/units/units.ts'
import { openLog, SLICE, textBytes, type OpenLog } from '../byte-source.ts'
import { giveBack } from '../give-back.ts'
import { handBack, takeMemory } from '../work-memory.ts'
import { headText, markLength } from '../head-text.ts'
import { HeadSkipper, headLinesOf, parserOptions, skipLines } from '../table-start.ts'
import type { LogReader, RowsOrder, RowsRead, TableLook } from './reader.ts'

/** How much of the text is looked at before the whole is read. */
const LOOK_BYTES = 2 << 20
/** A table of very many columns needs more for the same few lines. */
const MOST_LOOK_BYTES = 24 << 20
const FEWEST_LINES = 8
const SNIFF_BYTES = 256 << 10
const EXAMPLES = 3

/** Delimited text in any dialect, packed or not. */
export const TEXT: LogReader = { format: 'text', recognises: () => true, look }

/** What the rows' reading needs of the look. */
interface TextTable {
  readonly path: string
  readonly fileName: string
  readonly shape: TableShape
  /** The header's and units' lines as bytes. */
  readonly headLines: readonly Uint8Array[]
  /** Bytes of a byte order mark before the text. */
  readonly mark: 0 | 3
}

async function look(path: string, fileName: string, stop: () => void): Promise<TableLook> {
  const { head, complete, cut, bytes, compression } = await readHead(path, fileName, stop)
  if (head.byteLength === 0) throw new Problem('empty-file', `${fileName} holds no text.`, { file: fileName })
  const mark = markLength(head)
  const enough = head.subarray(0, SNIFF_BYTES).filter((byte) => byte === 10).length >= FEWEST_LINES
  const sniffBytes = enough ? SNIFF_BYTES : head.byteLength
  const sniffed = headText(head.subarray(0, sniffBytes), fileName)
  const shape = sniffTable(sniffed, complete && !cut && head.byteLength <= sniffBytes, fileName)
  const examples = exampleCells(sniffed, shape)
  const stampUnits = new Map<number, UnitId>()
  examples.forEach((cells, column) => {
    if (cells.some((cell) => isoSeconds(cell) !== null)) stampUnits.set(column, 's')
  })
  const samples = await parseSample(head.subarray(mark), shape, fileName, stampUnits, complete)
  const table = { path, fileName, shape, headLines: headLinesOf(head.subarray(mark), shape), mark }
  giveBack([head])
  return {
    bytes,
    dialect: { ...shape.dialect, compression },
    names: shape.names,
    unitTexts: shape.unitTexts,
    stampUnits,
    preamble: shape.preamble,
    samples,
    examples,
    notices: lookNotices(shape, cut),
    readRows: (order) => readRows(table, order),
  }
}

/** The text's beginning, unpacked. */
async function readHead(path: string, fileName: string, stop: () => void) {
  const log = await openLog(path, fileName)
  let complete = true
  let cut = false
  try {
    // Presized: most logs are larger than what is looked at.
    let head = new Uint8Array(Math.min(LOOK_BYTES + SLICE, sizeGuess(log)))
    let length = 0
    let lines = 0
    const ignore = (): void => undefined
    for await (const slice of textBytes(log, fileName, ignore, () => (cut = true))) {
      stop()
      if (length >= (lines < FEWEST_LINES ? MOST_LOOK_BYTES : LOOK_BYTES)) {
        complete = false
        break
      }
      if (length + slice.byteLength > head.byteLength) head = grown(head, length + slice.byteLength)
      head.set(slice, length)
      for (let at = slice.indexOf(10); at >= 0 && lines < FEWEST_LINES; at = slice.indexOf(10, at + 1))
        lines += 1
      length += slice.byteLength
    }
    return { head: head.subarray(0, length), complete, cut, bytes: log.bytes, compression: log.compression }
  } finally {
    await log.handle.close()
  }
}

function lookNotices(shape: TableShape, cut: boolean): Notice[] {
  const notices: Notice[] = []
  if (shape.dialect.headerLine === 0) {
    notices.push({
      level: 'caution',
      text: 'The file has no header: its columns are judged by their numbers alone.',
    })
  }
  if (cut) notices.push({ level: 'caution', text: 'The archive ends too early; what there is was read.' })
  return notices
}

async function parseSample(
  text: Uint8Array,
  shape: TableShape,
  fileName: string,
  stampUnits: ReadonlyMap<number, UnitId>,
  complete: boolean,
): Promise<(Float64Array<ArrayBuffer> | null)[]> {
  const start = skipLines(text, shape)
  const count = shape.names.length
  const newline = shape.newline.charCodeAt(0)
  let lines = 1
  for (let at = text.indexOf(newline, start); at >= 0; at = text.indexOf(newline, at + 1)) lines += 1
  // A row has a byte a cell at least: blank lines, of which there may be millions, are none.
  const rows = Math.min(lines, Math.ceil((text.byteLength - start) / count) + 1)
  // In one piece, which is much less work where there are very many columns.
  const all = new Float64Array(count * rows).fill(NaN)
  const columns = Array.from({ length: count }, (_, column) =>
    all.subarray(column * rows, (column + 1) * rows),
  )
  const groupRows = Math.max(8, Math.min(4096, Math.floor((1 << 16) / count)))
  let done = 0
  const memory = takeMemory()
  const parser = new RowParser({
    ...parserOptions(shape, headLinesOf(text, shape), fileName),
    memory,
    targets: shape.names.map((_, column): CellTarget => (stampUnits.has(column) ? 'f64-origin' : 'f64')),
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
  handBack(memory)
  const first = shape.dialect.firstDataLine
  const textFrom = new Map(parser.setAside.map((one) => [one.column, one.line]))
  return columns.map((values, column) => {
    const line = textFrom.get(column)
    const sample = values.subarray(0, done)
    const origin = parser.originOf(column)
    if (origin !== null) for (let row = 0; row < done; row += 1) sample[row]! += Number(origin)
    if (line === undefined) return sample
    // Text from the start is a column of text; text after some numbers is damage, judged when all is read.
    const numbers = sample.subarray(0, Math.max(0, line - first)).filter(Number.isFinite).length
    if (numbers < Math.min(8, done / 2)) return null
    sample.fill(NaN, Math.max(0, line - first))
    return sample
  })
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

/** Runs the file's bytes through hash and parser. */
async function readRows(table: TextTable, order: RowsOrder): Promise<RowsRead> {
  const { path, fileName, shape, headLines, mark } = table
  const { targets, required, groupRows, memory, onGroup, onProgress, stop } = order
  const parser = new RowParser({
    ...parserOptions(shape, headLines, fileName),
    targets,
    required,
    groupRows,
    ...(memory ? { memory } : {}),
    onGroup,
  })
  const log = await openLog(path, fileName)
  try {
    const hash = order.contentHash === null ? createHash('sha256') : null
    const head = new HeadSkipper(shape, mark)
    let raw = 0
    let cut = false
    const onRaw = (bytes: Uint8Array): void => {
      hash?.update(bytes)
      raw += bytes.byteLength
      onProgress(Math.min(1, raw / log.bytes))
    }
    for await (const slice of textBytes(log, fileName, onRaw, () => (cut = true))) {
      stop()
      const rest = head.rest(slice)
      if (rest.byteLength > 0) await parser.push(rest)
    }
    await parser.end(cut)
    return {
      rows: parser.rows,
      contentHash: hash?.digest('hex') ?? (order.contentHash as string),
      min: parser.min,
      max: parser.max,
      origins: shape.names.map((_, column) => parser.originOf(column)),
      setAside: new Set(parser.setAside.map((one) => one.column)),
      restarts: parser.restarts,
      notices: readNotices(parser, cut),
    }
  } finally {
    await log.handle.close()
  }
}

function readNotices(parser: RowParser, cut: boolean): Notice[] {
  const notices: Notice[] = parser.setAside.map((aside) => asideNotice(aside, parser.nameOf(aside.column)))
  if (parser.droppedLine !== null) {
    const text = `The last line (${parser.droppedLine}) is cut off and was left out; the rows before it are whole.`
    notices.push({ level: 'caution', text })
  } else if (parser.endedWithoutNewline && !cut) {
    const text =
      'The last line has no line end: if the file was cut off there, its last number may be too short.'
    notices.push({ level: 'info', text })
  }
  if (parser.restarts.length > 0) {
    const times = parser.restarts.length === 1 ? 'once more' : `${parser.restarts.length} more times`
    notices.push({
      level: 'info',
      text: `The header stands ${times} among the rows, as after a power cycle.`,
    })
  }
  return notices
}

function asideNotice(aside: SetAside, name: string): Notice {
  const place = `Column ${aside.column + 1} (${name})`
  return { level: 'info', text: `${place} was set aside as text: in line ${aside.line} ${aside.why}.` }
}

/** Bytes of text to expect: exact for plain text, a usual ratio for a packed one. */
function sizeGuess(log: OpenLog): number {
  return log.compression === 'none' ? log.bytes : 8 * log.bytes
}

function grown(bytes: Uint8Array<ArrayBuffer>, needed: number): Uint8Array<ArrayBuffer> {
  const larger = new Uint8Array(Math.max(needed, 2 * bytes.byteLength))
  larger.set(bytes)
  return larger
}
