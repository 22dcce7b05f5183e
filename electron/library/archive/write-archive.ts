import { createHash, type Hash } from 'node:crypto'
import { createReadStream, createWriteStream } from 'node:fs'
import { stat } from 'node:fs/promises'
import { Readable, Transform, type TransformCallback } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import Database from 'better-sqlite3'
import { ZipFile } from 'yazl'
import { Problem } from '../../../workers/log/problems.ts'
import type { Work } from '../../desk/incoming.ts'
import { ARCHIVE_FORMAT, columnsEntry, MANIFEST, tableEntry, type Manifest } from './format.ts'
import { columnNames, TABLES, type ArchiveTable, type Value } from './tables.ts'

export interface ArchiveOrder {
  /** The library's database. It is read as it stands at one moment; others may go on writing. */
  readonly database: string
  /** Where a log's column file lies. */
  readonly columnFile: (contentHash: string) => string
  /** Samples too; without them a flight shows its numbers until its log is added again. */
  readonly withColumns: boolean
  /** Where the archive is to be written; nothing stays there when that fails. */
  readonly path: string
  readonly now_ms: number
}

/** Table rows make up this share of the work, as it is told. */
const TABLES_SHARE = 0.1

/**
 * Writes an archive of the whole library, entry after entry: no entry and no archive is ever whole in memory.
 * @throws Problem cancelled, disk, source-missing
 */
export async function writeArchive(order: ArchiveOrder, { signal, report }: Work): Promise<void> {
  const database = new Database(order.database, { readonly: true })
  const zip = new ZipFile()
  const entries: Manifest['entries'] = []
  const tables: Manifest['tables'] = []
  const stop = new AbortController()
  const ended = AbortSignal.any([signal, stop.signal])
  const written = pipeline(zip.outputStream, createWriteStream(order.path, { flags: 'wx' }), {
    signal: ended,
  })
  // Whoever ends it has the reason; here it must only not go unseen.
  written.catch(() => undefined)
  const add = (name: string, stream: Readable): Promise<void> => addEntry(zip, name, stream, entries, written)
  try {
    database.exec('BEGIN')
    const numbers = new Map<string, Map<Value, number>>()
    for (const [index, table] of TABLES.entries()) {
      if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
      report({ phase: 'Writing the logbook', done: (TABLES_SHARE * index) / TABLES.length })
      let rows = 0
      const lines = linesOf(database, table, numbers, () => rows++)
      await add(tableEntry(table.name), Readable.from(lines, { objectMode: false }))
      tables.push({ name: table.name, columns: columnNames(table), rows })
    }
    if (order.withColumns) await addColumns(database, order, add, { signal, report })
    const manifest: Manifest = {
      program: 'Twopack',
      format: ARCHIVE_FORMAT,
      made_ms: order.now_ms,
      tables,
      entries,
    }
    zip.addBuffer(Buffer.from(`${JSON.stringify(manifest, null, 1)}\n`), MANIFEST)
    zip.end()
    await written
  } catch (error) {
    stop.abort()
    await written.catch(() => undefined)
    if (signal.aborted) throw new Problem('cancelled', 'Cancelled.', {}, error)
    if (isDiskFull(error)) throw new Problem('disk', 'The disk is full; nothing was exported.', {}, error)
    throw error
  } finally {
    database.close()
  }
}

async function addColumns(
  database: Database.Database,
  { columnFile }: ArchiveOrder,
  add: (name: string, stream: Readable) => Promise<void>,
  { signal, report }: Work,
): Promise<void> {
  const hashes = database
    .prepare<[], string>('SELECT content_hash FROM file ORDER BY content_hash')
    .pluck()
    .all()
  const sizes = new Map<string, number>()
  for (const hash of hashes) {
    const size = await stat(columnFile(hash)).then(
      ({ size }) => size,
      () => null, // a flight whose samples are gone is carried without
    )
    if (size !== null) sizes.set(hash, size)
  }
  const all = [...sizes.values()].reduce((sum, size) => sum + size, 0)
  let done = 0
  for (const [hash, size] of sizes) {
    if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
    report({ phase: 'Writing the samples', done: TABLES_SHARE + ((1 - TABLES_SHARE) * done) / all })
    await add(columnsEntry(hash), createReadStream(columnFile(hash)))
    done += size
  }
}

/** Puts a stream into the archive; resolves when all of it is in. */
function addEntry(
  zip: ZipFile,
  name: string,
  stream: Readable,
  entries: Manifest['entries'],
  written: Promise<void>,
): Promise<void> {
  const { promise, resolve, reject } = Promise.withResolvers<void>()
  const meter = new Meter()
  meter.once('end', () => {
    entries.push({ name, bytes: meter.bytes, sha256: meter.hash.digest('hex') })
    resolve()
  })
  stream.once('error', (cause: NodeJS.ErrnoException) => {
    const gone = cause.code === 'ENOENT'
    reject(
      gone
        ? new Problem('source-missing', 'A flight was removed meanwhile; please try again.', {}, cause)
        : cause,
    )
  })
  written.catch(reject)
  // Samples are noise to a packer: the lowest level is nearly as small and several times as fast.
  zip.addReadStream(stream.pipe(meter), name, { compressionLevel: 1, mtime: new Date(0) })
  return promise
}

/** Counts and hashes what flows through. */
class Meter extends Transform {
  bytes = 0
  readonly hash: Hash = createHash('sha256')

  override _transform(chunk: Buffer, _encoding: string, done: TransformCallback): void {
    this.bytes += chunk.byteLength
    this.hash.update(chunk)
    done(null, chunk)
  }
}

/** A table's rows as lines, numbers counted from 1 and references with them. */
function* linesOf(
  database: Database.Database,
  table: ArchiveTable,
  numbers: Map<string, Map<Value, number>>,
  count: () => void,
): Generator<string> {
  const names = columnNames(table)
  const own = new Map<Value, number>()
  if (table.number !== undefined) numbers.set(table.name, own)
  const select = database.prepare<[], Record<string, Value>>(
    `SELECT ${names.map(quoted).join(', ')} FROM ${quoted(table.name)} ${table.where === undefined ? '' : `WHERE ${table.where}`}
     ORDER BY ${(table.number === undefined ? table.same : [table.number]).map(quoted).join(', ')}`,
  )
  let lines = ''
  for (const row of select.iterate()) {
    count()
    const values = names.map((name) => {
      const value = row[name] as Value
      if (name === table.number) {
        own.set(value, own.size + 1)
        return own.size
      }
      const other = table.references?.[name]
      if (other !== undefined) return numbers.get(other)?.get(value) ?? null
      // Where a log lies is nobody else's business.
      return name === 'source_path' ? null : value
    })
    lines += `${JSON.stringify(values)}\n`
    if (lines.length < 65_536) continue
    yield lines
    lines = ''
  }
  yield lines
}

export const quoted = (name: string): string => `"${name}"`

function isDiskFull(error: unknown): boolean {
  return error instanceof Error && 'code' in error && (error.code === 'ENOSPC' || error.code === 'EDQUOT')
}
