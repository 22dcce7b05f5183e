import { zstdDecompressSync } from 'node:zlib'
import type { RecordBatch, RecordBatchReader, Schema } from 'apache-arrow'
import { Problem } from '../../../workers/log/problems.ts'
import { cannotRead, type OpenLog } from '../byte-source.ts'
import { unpackLz4Frame } from './lz4-frame.ts'

const FILE_MAGIC = 'ARROW1'
/** The magic and two bytes to fill up; the stream stands behind it. */
const FILE_HEAD = 8
/** A stream begins with four such bytes and the length of its schema. */
const CONTINUATION = 0xff
const MOST_SCHEMA_BYTES = 64 << 20
const READ = 1 << 20
/** A buffer that unpacks to more than this is none of a log. */
const MOST_BUFFER_BYTES = 1 << 30

/** Whether a file begins as Arrow's file format does. */
export function isArrowFile(start: Uint8Array): boolean {
  return String.fromCharCode(...start.subarray(0, FILE_MAGIC.length)) === FILE_MAGIC
}

/** Whether a file begins as Arrow's stream format does. */
export function isArrowStream(start: Uint8Array): boolean {
  if (start.length < 8 || start.subarray(0, 4).some((byte) => byte !== CONTINUATION)) return false
  const length = new DataView(start.buffer, start.byteOffset).getInt32(4, true)
  return length > 0 && length < MOST_SCHEMA_BYTES
}

/**
 * The record batches of an Arrow file or stream, read once from front to back. A file is a stream with a head and a
 * list of places behind it, so that one that was cut off still gives its whole batches.
 */
export class ArrowStream {
  readonly schema: Schema
  /** The file was over before the stream was. Known when all batches are read. */
  isCut = false
  /** Batches given so far. */
  private count = 0
  private readonly reader: RecordBatchReader
  private readonly source: Source
  private readonly fileName: string

  private constructor(reader: RecordBatchReader, source: Source, fileName: string) {
    this.reader = reader
    this.schema = reader.schema
    this.source = source
    this.fileName = fileName
  }

  /** @throws Problem cannot-read */
  static async open(log: OpenLog, fileName: string): Promise<ArrowStream> {
    const arrow = await import('apache-arrow')
    const { compressionRegistry, CompressionType } = arrow
    compressionRegistry.set(CompressionType.LZ4_FRAME, { decode: unpackLz4Frame })
    compressionRegistry.set(CompressionType.ZSTD, {
      decode: (packed) => zstdDecompressSync(packed, { maxOutputLength: MOST_BUFFER_BYTES }),
    })
    const source = new Source(log, fileName)
    // A whole file is read by its list of places, batch by batch into one piece of memory; and some writers leave
    // the schema out of all but that list. A file that was cut off is read as the stream that it still is.
    const isWhole = isArrowFile(log.start) && !(await source.endsTooEarly())
    try {
      const reader: RecordBatchReader = isWhole
        ? await arrow.RecordBatchReader.from(log.handle)
        : await arrow.RecordBatchReader.from(source.bytes())
      await reader.open()
      return new ArrowStream(reader, source, fileName)
    } catch (cause) {
      throw damaged(fileName, cause)
    }
  }

  /** The share of the file that has been read. */
  get done(): number {
    const { reader } = this
    return reader.isFile() ? this.count / Math.max(1, reader.numRecordBatches) : this.source.done
  }

  /** @throws Problem cannot-read */
  async *batches(): AsyncGenerator<RecordBatch, void, void> {
    const iterator = this.reader[Symbol.asyncIterator]()
    try {
      for (;;) {
        const next = await this.next(iterator)
        if (next === null) break
        this.count += 1
        yield next
      }
    } finally {
      await this.reader.cancel()
    }
    // A file that is read by its list of places is whole, and closed by now.
    if (!this.reader.isFile()) this.isCut ||= await this.source.endsTooEarly()
  }

  private async next(iterator: AsyncIterator<RecordBatch>): Promise<RecordBatch | null> {
    try {
      const { done, value } = await iterator.next()
      return done ? null : value
    } catch (cause) {
      // Within a message the file was over: what came before is whole.
      this.isCut = this.source.done >= 1 && this.count > 0 && !(cause instanceof Problem)
      if (this.isCut) return null
      throw damaged(this.fileName, cause)
    }
  }
}

/** The bytes of the stream in a file. */
class Source {
  private readonly log: OpenLog
  private readonly fileName: string
  private position: number

  constructor(log: OpenLog, fileName: string) {
    this.log = log
    this.fileName = fileName
    this.position = isArrowFile(log.start) ? FILE_HEAD : 0
  }

  get done(): number {
    return this.position / this.log.bytes
  }

  /** In buffers of their own: the batches keep parts of them. */
  async *bytes(): AsyncGenerator<Uint8Array, void, void> {
    while (this.position < this.log.bytes) {
      const buffer = new Uint8Array(Math.min(READ, this.log.bytes - this.position))
      const bytesRead = await this.read(buffer, this.position)
      if (bytesRead === 0) return
      this.position += bytesRead
      yield buffer.subarray(0, bytesRead)
    }
  }

  private async read(buffer: Uint8Array, position: number): Promise<number> {
    try {
      return (await this.log.handle.read(buffer, 0, buffer.byteLength, position)).bytesRead
    } catch (cause) {
      throw cannotRead(this.fileName, cause)
    }
  }

  /** A file of the file format ends with its magic. A stream may end anywhere between two batches. */
  async endsTooEarly(): Promise<boolean> {
    if (!isArrowFile(this.log.start)) return false
    const end = new Uint8Array(FILE_MAGIC.length)
    await this.read(end, this.log.bytes - end.byteLength)
    return String.fromCharCode(...end) !== FILE_MAGIC
  }
}

function damaged(file: string, cause: unknown): Problem {
  if (cause instanceof Problem) return cause
  const why = cause instanceof Error ? cause.message : String(cause)
  const message = `${file} is a damaged Arrow table: ${why.replace(/\.$/, '')}.`
  return new Problem('cannot-read', message, { file }, cause)
}
