import type { FileHandle } from 'node:fs/promises'
import type { AsyncBuffer, Compressors, FileMetaData } from 'hyparquet'
import { typedDialect, type PreambleEntry } from '../../../workers/log/log.ts'
import { Problem } from '../../../workers/log/problems.ts'
import { cannotRead, openLog } from '../byte-source.ts'
import { hashFile } from '../hash-file.ts'
import { makersFor, rowsReadBy } from './typed-rows.ts'
import { GroupFiller, type Numbers } from './group-filler.ts'
import { checkMetadata, parquetColumns, type ParquetColumn } from './parquet-schema.ts'
import type { LogReader, RowsOrder, RowsRead, TableLook } from './reader.ts'
import { exampleText, lookRows, NumberMaker, type RawValues } from './typed-column.ts'
import { nestedNotices, samplesOf, stampUnitsOf, textEntries } from './typed-look.ts'

const MAGIC = [0x50, 0x41, 0x52, 0x31]
/** A footer with this at the end is encrypted: PARE. */
const MAGIC_ENCRYPTED = 'PARE'
const EXAMPLES = 3
/** Columns of text of which examples are shown: each costs a page to be unpacked. */
const MOST_TEXT_EXAMPLES = 64
/** Memory for the rows that are unpacked at a time, all columns together. */
const SLICE_BYTES = 16 << 20
/** Share of the reading that goes into recognising the file by its content. */
const HASH_SHARE = 0.1

/** Apache Parquet, flat columns of any type, any packing within. */
export const PARQUET: LogReader = {
  format: 'parquet',
  recognises: (start) =>
    MAGIC.every((byte, index) => start[index] === byte) ||
    String.fromCharCode(...start.subarray(0, 4)) === MAGIC_ENCRYPTED,
  look,
}

interface Table {
  readonly path: string
  readonly fileName: string
  readonly metadata: FileMetaData
  readonly columns: readonly ParquetColumn[]
}

async function look(path: string, fileName: string, stop: () => void): Promise<TableLook> {
  const log = await openLog(path, fileName)
  try {
    const file = bufferOf(log.handle, log.bytes, fileName)
    const metadata = await readMetadata(file, fileName)
    const columns = parquetColumns(metadata)
    if (!columns.some(({ kind }) => kind === 'numbers')) {
      const message = `${fileName} holds no plain columns of numbers.`
      throw new Problem('no-columns', message, { file: fileName })
    }
    if (Number(metadata.num_rows) === 0) {
      throw new Problem('too-short', `${fileName} holds columns but no rows.`, { file: fileName })
    }
    const table = { path, fileName, metadata, columns }
    const rows = Math.min(Number(metadata.num_rows), lookRows(columns.length))
    const { samples, examples } = await lookAt(table, file, rows, stop)
    return {
      bytes: log.bytes,
      dialect: typedDialect('parquet'),
      names: columns.map(({ name }) => name),
      unitTexts: columns.map(() => ''),
      stampUnits: stampUnitsOf(columns),
      preamble: preambleOf(metadata),
      samples,
      examples,
      notices: nestedNotices(columns),
      readRows: (order) => readRows(table, order),
    }
  } finally {
    await log.handle.close()
  }
}

async function readMetadata(file: AsyncBuffer, fileName: string): Promise<FileMetaData> {
  const end = Buffer.from(await file.slice(Math.max(0, file.byteLength - 4), file.byteLength)).toString(
    'latin1',
  )
  if (end === MAGIC_ENCRYPTED) throw encrypted(fileName)
  if (end !== 'PAR1' || file.byteLength < 12) {
    throw new Problem('cannot-read', `${fileName} is cut off: the end of a Parquet table is missing.`, {
      file: fileName,
    })
  }
  const { parquetMetadataAsync } = await import('hyparquet')
  const metadata = await asProblem(fileName, () => parquetMetadataAsync(file, { geoparquet: false }))
  const isEncrypted = metadata.row_groups.some(({ columns }) => columns.some((chunk) => !chunk.meta_data))
  if (isEncrypted) throw encrypted(fileName)
  await asProblem(fileName, () => checkMetadata(metadata))
  return metadata
}

async function lookAt(table: Table, file: AsyncBuffer, rows: number, stop: () => void) {
  const { columns, metadata } = table
  const slices = slicesOf(metadata, rows, rows)
  const examples: string[][] = []
  let texts = 0
  const samples = await samplesOf(columns, rows, async (column, put) => {
    stop()
    const { kind } = columns[column] as ParquetColumn
    const isShownText = kind === 'text' && (texts += 1) <= MOST_TEXT_EXAMPLES
    if (kind !== 'numbers' && !isShownText) return void (examples[column] = [])
    const few = isShownText ? slicesOf(metadata, EXAMPLES, EXAMPLES) : slices
    for (const slice of few) {
      const raw = await readColumn(table, file, column, slice)
      examples[column] ??= Array.from({ length: Math.min(EXAMPLES, raw.length) }, (_, row) =>
        exampleText((columns[column] as ParquetColumn).shown(raw[row])),
      )
      if (kind === 'numbers') put(raw)
    }
  })
  return { samples, examples }
}

async function readRows(table: Table, order: RowsOrder): Promise<RowsRead> {
  const { path, fileName, metadata, columns } = table
  const { targets, onProgress, stop } = order
  const progressOfHash = ({ done }: { done: number }): void => onProgress(HASH_SHARE * done)
  const contentHash = order.contentHash ?? (await hashFile(path, fileName, progressOfHash, stop))
  const log = await openLog(path, fileName)
  try {
    const file = bufferOf(log.handle, log.bytes, fileName)
    const filler = new GroupFiller(targets, order.groupRows, order.onGroup)
    const makers = makersFor(columns, targets)
    const stored = columns.flatMap((_, index) => (targets[index] === 'skip' ? [] : [index]))
    const total = Number(metadata.num_rows)
    const rowBytes = stored.reduce((sum, column) => sum + (targets[column] === 'f32' ? 4 : 8), 0)
    const sliceRows = Math.max(1024, Math.floor(SLICE_BYTES / Math.max(1, rowBytes)))
    for (const slice of slicesOf(metadata, total, sliceRows)) {
      const numbers = new Map<number, Numbers>()
      for (const [place, column] of stored.entries()) {
        stop()
        const raw = columns[column]?.kind === 'numbers' ? await readColumn(table, file, column, slice) : null
        const rows = slice.to - slice.from
        const made = raw ? (makers[column] as NumberMaker).numbers(raw) : new Float64Array(rows).fill(NaN)
        // In 32 bits where no more is kept, so that many columns wait in half the room.
        numbers.set(
          column,
          targets[column] === 'f32' && made instanceof Float64Array ? Float32Array.from(made) : made,
        )
        const done = (slice.from + (rows * (place + 1)) / stored.length) / total
        onProgress(HASH_SHARE + (1 - HASH_SHARE) * done)
      }
      await filler.add(slice.to - slice.from, (column) => numbers.get(column) as Numbers)
    }
    return await rowsReadBy(filler, contentHash, makers)
  } finally {
    await log.handle.close()
  }
}

/** Rows [from, to) of the table, within one of its row groups. */
interface Slice {
  readonly from: number
  readonly to: number
}

/** The first `rows` rows in slices of at most `most`. */
function slicesOf(metadata: FileMetaData, rows: number, most: number): Slice[] {
  const slices: Slice[] = []
  let start = 0
  for (const group of metadata.row_groups) {
    const end = Math.min(rows, start + Number(group.num_rows))
    for (let from = start; from < end; from += most) slices.push({ from, to: Math.min(end, from + most) })
    start += Number(group.num_rows)
  }
  return slices
}

/** One column's values in a slice. A scan of its own, so that nothing of it is kept. */
async function readColumn(
  { fileName, metadata, columns }: Table,
  file: AsyncBuffer,
  column: number,
  slice: Slice,
): Promise<RawValues> {
  const { parquetScan } = await import('hyparquet')
  const compressors = await unpackers()
  const { key, rawOf } = columns[column] as ParquetColumn
  const rows = { rowStart: slice.from, rowEnd: slice.to }
  const values = await asProblem(fileName, async () => {
    const scan = await parquetScan({
      file,
      metadata,
      columns: [key],
      compressors,
      utf8: false,
      geoparquet: false,
      parsers: { timestampFromNanoseconds: (nanos) => nanos },
      ...rows,
    })
    return scan.readColumn({ column: key, ...rows })
  })
  if (values.length !== slice.to - slice.from) {
    throw damaged(fileName, `a column has ${values.length} of ${slice.to - slice.from} rows`)
  }
  return rawOf(values)
}

/** Node's own unpackers where it has them; they are compiled. */
async function unpackers(): Promise<Compressors> {
  const { compressors } = await import('hyparquet-compressors')
  const { brotliDecompressSync, gunzipSync, zstdDecompressSync } = await import('node:zlib')
  const within = (bytes: number) => ({ maxOutputLength: Math.max(1, bytes) })
  return {
    ...compressors,
    GZIP: (input, bytes) => gunzipSync(input, within(bytes)),
    BROTLI: (input, bytes) => brotliDecompressSync(input, within(bytes)),
    ZSTD: (input, bytes) => zstdDecompressSync(input, within(bytes)),
  }
}

function bufferOf(handle: FileHandle, bytes: number, fileName: string): AsyncBuffer {
  return {
    byteLength: bytes,
    slice: async (start, end = bytes) => {
      if (!(start >= 0 && start <= end && end <= bytes)) throw damaged(fileName, 'it points outside itself')
      const buffer = new Uint8Array(end - start)
      let done = 0
      while (done < buffer.byteLength) {
        const { bytesRead } = await handle
          .read(buffer, done, buffer.byteLength - done, start + done)
          .catch((cause) => {
            throw cannotRead(fileName, cause)
          })
        if (bytesRead === 0) throw damaged(fileName, 'it became shorter while it was read')
        done += bytesRead
      }
      return buffer.buffer
    },
  }
}

/** What the library throws is said of the file: it meets nothing else. */
async function asProblem<T>(fileName: string, step: () => T | Promise<T>): Promise<T> {
  try {
    return await step()
  } catch (cause) {
    if (cause instanceof Problem) throw cause
    const why = cause instanceof Error ? cause.message.replace(/^parquet /, '') : String(cause)
    throw damaged(fileName, why, cause)
  }
}

function damaged(file: string, why: string, cause?: unknown): Problem {
  return new Problem('cannot-read', `${file} is a damaged Parquet table: ${why}.`, { file }, cause)
}

function encrypted(file: string): Problem {
  return new Problem('cannot-read', `${file} is an encrypted Parquet table, which can't be read.`, { file })
}

function preambleOf(metadata: FileMetaData): PreambleEntry[] {
  return textEntries((metadata.key_value_metadata ?? []).map(({ key, value }) => [key, value ?? '']))
}
