import type { Field, RecordBatch } from 'apache-arrow'
import { typedDialect, type Notice } from '../../../workers/log/log.ts'
import { Problem } from '../../../workers/log/problems.ts'
import { openLog } from '../byte-source.ts'
import { hashFile } from '../hash-file.ts'
import type { ArrowColumn } from './arrow-column.ts'
import { ArrowStream, isArrowFile, isArrowStream } from './arrow-stream.ts'
import { makersFor, rowsReadBy } from './typed-rows.ts'
import { GroupFiller, type Numbers } from './group-filler.ts'
import type { LogReader, RowsOrder, RowsRead, TableLook } from './reader.ts'
import { exampleText, lookRows, NumberMaker } from './typed-column.ts'
import { nestedNotices, samplesOf, stampUnitsOf, textEntries } from './typed-look.ts'

const EXAMPLES = 3
/** Share of the reading that goes into recognising the file by its content. */
const HASH_SHARE = 0.2

/** Apache Arrow's format between processes: the file (also called Feather, version 2) and the stream. */
export const ARROW: LogReader = {
  format: 'arrow',
  recognises: (start) => isArrowFile(start) || isArrowStream(start),
  look,
}

interface Table {
  readonly path: string
  readonly fileName: string
  readonly columns: readonly ArrowColumn[]
}

async function look(path: string, fileName: string, stop: () => void): Promise<TableLook> {
  const log = await openLog(path, fileName)
  try {
    const stream = await ArrowStream.open(log, fileName)
    const { arrowColumn } = await import('./arrow-column.ts')
    const columns = stream.schema.fields.map((field: Field) => arrowColumn(field))
    if (!columns.some(({ kind }) => kind === 'numbers')) {
      const message = `${fileName} holds no plain columns of numbers.`
      throw new Problem('no-columns', message, { file: fileName })
    }
    const batches = await firstBatches(stream, lookRows(columns.length), stop)
    const rows = batches.reduce((sum, batch) => sum + batch.numRows, 0)
    if (rows === 0)
      throw new Problem('too-short', `${fileName} holds columns but no rows.`, { file: fileName })
    const samples = await samplesOf(columns, rows, (index, put) => {
      const column = columns[index] as ArrowColumn
      if (column.kind === 'numbers') for (const batch of batches) put(column.rawOf(batch, index))
    })
    const table = { path, fileName, columns }
    return {
      bytes: log.bytes,
      dialect: typedDialect('arrow'),
      names: columns.map(({ name }) => name),
      unitTexts: columns.map(() => ''),
      stampUnits: stampUnitsOf(columns),
      preamble: textEntries(stream.schema.metadata),
      samples,
      examples: columns.map((column, index) => examplesOf(column, index, batches)),
      notices: nestedNotices(columns),
      readRows: (order) => readRows(table, order),
    }
  } finally {
    await log.handle.close()
  }
}

/** The first `most` rows. */
async function firstBatches(stream: ArrowStream, most: number, stop: () => void): Promise<RecordBatch[]> {
  const batches: RecordBatch[] = []
  let left = most
  for await (const batch of stream.batches()) {
    stop()
    if (batch.numRows > 0) batches.push(batch.numRows > left ? batch.slice(0, left) : batch)
    left -= batch.numRows
    if (left <= 0) break
  }
  return batches
}

function examplesOf(column: ArrowColumn, index: number, batches: readonly RecordBatch[]): string[] {
  const few = batches[0]?.slice(0, EXAMPLES)
  return few && column.kind !== 'nested' ? Array.from(column.shownOf(few, index), exampleText) : []
}

async function readRows({ path, fileName, columns }: Table, order: RowsOrder): Promise<RowsRead> {
  const { targets, groupRows, onGroup, onProgress, stop } = order
  const progressOfHash = ({ done }: { done: number }): void => onProgress(HASH_SHARE * done)
  const contentHash = order.contentHash ?? (await hashFile(path, fileName, progressOfHash, stop))
  const log = await openLog(path, fileName)
  try {
    const stream = await ArrowStream.open(log, fileName)
    const filler = new GroupFiller(targets, groupRows, onGroup)
    const makers = makersFor(columns, targets)
    for await (const batch of stream.batches()) {
      // In pieces: a batch may hold the whole flight.
      for (let from = 0; from < batch.numRows; from += groupRows) {
        stop()
        const piece = batch.slice(from, Math.min(batch.numRows, from + groupRows))
        const numbers = new Map<number, Numbers>()
        await filler.add(piece.numRows, (index) => {
          const column = columns[index] as ArrowColumn
          const made = numbers.get(index) ?? numbersOf(column, index, piece, makers[index] as NumberMaker)
          numbers.set(index, made)
          return made
        })
      }
      onProgress(HASH_SHARE + (1 - HASH_SHARE) * stream.done)
    }
    return await rowsReadBy(filler, contentHash, makers, stream.isCut ? [CUT] : [])
  } finally {
    await log.handle.close()
  }
}

/** A column that was chosen although it holds no numbers is given without any. */
function numbersOf(column: ArrowColumn, index: number, batch: RecordBatch, maker: NumberMaker): Numbers {
  if (column.kind !== 'numbers') return new Float64Array(batch.numRows).fill(NaN)
  return maker.numbers(column.rawOf(batch, index))
}

const CUT: Notice = {
  level: 'caution',
  text: 'The file ends too early, among its rows; what there is was read.',
}
