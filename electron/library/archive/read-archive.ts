import { createHash } from 'node:crypto'
import { closeSync, openSync, readSync } from 'node:fs'
import { mkdir, open, stat, statfs } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import * as v from 'valibot'
import { openPromise, type Entry, type ZipFile } from 'yauzl'
import { isProblem, Problem } from '../../../workers/log/problems.ts'
import { rowBytesOf } from '../../intake/column-file.ts'
import type { Work } from '../../desk/incoming.ts'
import { Slices } from '../slices.ts'
import { parseStoredLog } from '../stored-log.ts'
import {
  ARCHIVE_FORMAT,
  columnsEntry,
  ENTRY_NAME,
  MANIFEST,
  manifestSchema,
  tableEntry,
  type Manifest,
} from './format.ts'
import { columnNames, FILE, TABLES, type ArchiveTable, type Row } from './tables.ts'

/** An archive that was unpacked and found whole; nothing of the library has been touched. */
export interface StagedArchive {
  /** Rows of a table, read line by line. */
  rows(table: ArchiveTable): Iterable<Row>
  /** The row of a log by its content, read where it stands. */
  file(contentHash: string): Row
  /** How many rows stand for themselves: not those of logs, and of what belongs to another row. */
  readonly steps: number
  /** Logs whose samples are in it, and where these lie now. */
  readonly columns: ReadonlyMap<string, string>
}

/** Unpacking, then looking at every row, of the whole work that ends with adding them. */
const UNPACKED_SHARE = 0.35
const MOST_ENTRIES = 200_000
const MOST_MANIFEST_BYTES = 64 << 20
const LONGEST_LINE = 32 << 20
const LINE_FEED = 0x0a
/** Packed samples are seldom less than a half; what swells far beyond is made to fill a disk. */
const MOST_SWELLING = 200
const SWELLING_FROM_BYTES = 64 << 20

const damaged = (why: string, cause?: unknown): Problem =>
  new Problem(
    'cannot-read',
    `This is no whole archive of a Twopack library: ${why}. Nothing was changed.`,
    {},
    cause,
  )

/**
 * Unpacks an archive into a folder and checks everything in it: names, sizes, checksums, every row of every table.
 * @throws Problem cannot-read for what is no archive, is damaged, hostile or of a newer version; disk; cancelled
 */
export async function stageArchive(path: string, folder: string, work: Work): Promise<StagedArchive> {
  const zip = await asked('it can’t be opened', () =>
    openPromise(path, { autoClose: false, strictFileNames: true }),
  )
  try {
    const entries = await entriesOf(zip)
    const manifest = await manifestOf(zip, entries)
    await checkSizes(path, folder, manifest, entries)
    const all = manifest.entries.reduce((sum, { bytes }) => sum + bytes, 0)
    let done = 0
    for (const { name, bytes, sha256 } of manifest.entries) {
      const entry = entries.get(name) as Entry
      await unpack(zip, entry, join(folder, name), { bytes, sha256 }, work, (more) => {
        done += more
        work.report({ phase: 'Checking the archive', done: all === 0 ? 0 : (UNPACKED_SHARE * done) / all })
      })
    }
    return await checked(folder, manifest, work)
  } finally {
    zip.close()
  }
}

/** What the packer's library throws is about the file, not about us. */
async function asked<T>(why: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work()
  } catch (error) {
    if (isProblem(error)) throw error
    throw damaged(why, error)
  }
}

async function entriesOf(zip: ZipFile): Promise<Map<string, Entry>> {
  if (zip.entryCount > MOST_ENTRIES) throw damaged('it has too many entries')
  const entries = new Map<string, Entry>()
  await asked('its list of entries is damaged', async () => {
    for await (const entry of zip.eachEntry()) {
      if (!ENTRY_NAME.test(entry.fileName)) throw damaged('it holds a file that does not belong there')
      if (entries.has(entry.fileName)) throw damaged('it holds an entry twice')
      entries.set(entry.fileName, entry)
    }
  })
  return entries
}

async function manifestOf(zip: ZipFile, entries: ReadonlyMap<string, Entry>): Promise<Manifest> {
  const entry = entries.get(MANIFEST)
  if (!entry) throw damaged('its list of contents is missing')
  if (entry.uncompressedSize > MOST_MANIFEST_BYTES) throw damaged('its list of contents is too long')
  const parts: Buffer[] = []
  await asked('its list of contents is damaged', async () => {
    for await (const part of await zip.openReadStreamPromise(entry)) parts.push(part as Buffer)
  })
  const said = await asked('its list of contents is damaged', async () =>
    JSON.parse(Buffer.concat(parts).toString()),
  )
  const newer = v.safeParse(v.object({ format: v.pipe(v.number(), v.gtValue(ARCHIVE_FORMAT)) }), said)
  if (newer.success)
    throw new Problem(
      'cannot-read',
      'This archive was written by a newer Twopack; please update. Nothing was changed.',
    )
  const manifest = v.safeParse(manifestSchema, said)
  if (!manifest.success) throw damaged('its list of contents does not fit')
  const listed = new Set(manifest.output.entries.map(({ name }) => name))
  const there = [...entries.keys()].filter((name) => name !== MANIFEST)
  if (
    listed.size !== manifest.output.entries.length ||
    there.length !== listed.size ||
    !there.every((name) => listed.has(name))
  )
    throw damaged('what is in it is not what its list says')
  for (const table of TABLES) {
    const told = manifest.output.tables.find(({ name }) => name === table.name)
    const fits = told && JSON.stringify(told.columns) === JSON.stringify(columnNames(table))
    if (!fits || !listed.has(tableEntry(table.name)))
      throw damaged(`its table "${table.name}" is missing or other`)
  }
  return manifest.output
}

async function checkSizes(
  path: string,
  folder: string,
  manifest: Manifest,
  entries: ReadonlyMap<string, Entry>,
): Promise<void> {
  for (const { name, bytes } of manifest.entries)
    if (entries.get(name)?.uncompressedSize !== bytes) throw damaged('a size in it is not what its list says')
  const all = manifest.entries.reduce((sum, { bytes }) => sum + bytes, 0)
  const { size } = await stat(path)
  if (all > SWELLING_FROM_BYTES && all > MOST_SWELLING * size)
    throw damaged(`it would unpack to more than ${MOST_SWELLING} times its size`)
  await mkdir(folder, { recursive: true })
  const { bavail, bsize } = await statfs(folder)
  if (all > bavail * bsize)
    throw new Problem(
      'disk',
      'There is not enough room on the disk to unpack this archive; nothing was changed.',
    )
}

async function unpack(
  zip: ZipFile,
  entry: Entry,
  path: string,
  told: { readonly bytes: number; readonly sha256: string },
  { signal }: Work,
  onBytes: (more: number) => void,
): Promise<void> {
  await mkdir(dirname(path), { recursive: true })
  const hash = createHash('sha256')
  const file = await open(path, 'wx')
  let bytes = 0
  try {
    await asked('it is damaged or cut short', async () => {
      for await (const part of await zip.openReadStreamPromise(entry)) {
        if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
        const chunk = part as Buffer
        bytes += chunk.byteLength
        hash.update(chunk)
        await file.write(chunk)
        onBytes(chunk.byteLength)
      }
    })
  } finally {
    await file.close()
  }
  if (bytes !== told.bytes || hash.digest('hex') !== told.sha256)
    throw damaged('a checksum in it does not fit its contents')
}

/** Looks at every row once, with what belongs together. */
async function checked(folder: string, manifest: Manifest, work: Work): Promise<StagedArchive> {
  const columns = new Map<string, string>()
  const sizes = new Map(manifest.entries.map(({ name, bytes }) => [name, bytes]))
  const hashes = new Set<string>()
  const numbers = new Map<string, Set<unknown>>()
  const places = new Map<string, Line>()
  const slices = new Slices()
  const path = (table: ArchiveTable): string => join(folder, tableEntry(table.name))
  for (const table of TABLES) {
    const own = new Set<unknown>()
    numbers.set(table.name, own)
    const schema = schemaOf(table)
    const rows = manifest.tables.find(({ name }) => name === table.name)?.rows
    let found = 0
    let last = 0
    for (const line of linesIn(path(table))) {
      const row = v.safeParse(schema, line.value)
      if (!row.success) throw damaged(`a row of its table "${table.name}" does not fit`)
      found++
      checkReferences(table, row.output as Row, numbers, hashes)
      if (table.number !== undefined) own.add(row.output[0])
      if (table.number !== undefined || table.references) {
        const number = row.output[0] as number
        // Each number once, and what belongs to one behind the other in the same order: they are read side by side.
        if (number < last || (number === last && !table.references))
          throw damaged(`its table "${table.name}" is out of order`)
        last = number
      }
      if (table.name === 'file') {
        const bytes = checkFile(table, row.output as Row, sizes)
        const hash = row.output[0] as string
        hashes.add(hash)
        places.set(hash, { from: line.from, to: line.to })
        if (bytes !== null) columns.set(hash, join(folder, columnsEntry(hash)))
      }
      if (slices.isOver) {
        work.report({ phase: 'Checking the archive', done: UNPACKED_SHARE })
        await slices.turn(work.signal)
      }
    }
    if (found !== rows) throw damaged(`its table "${table.name}" is cut short`)
  }
  for (const name of sizes.keys())
    if (name.startsWith('columns/') && !hashes.has(name.slice('columns/'.length, -'.columns'.length)))
      throw damaged('it holds samples of a log that it does not know')
  const steps = manifest.tables
    .filter(({ name }) => TABLES.some((table) => table.name === name && name !== 'file' && !table.references))
    .reduce((sum, { rows }) => sum + rows, 0)
  return {
    columns,
    steps,
    *rows(table) {
      for (const { value } of linesIn(path(table))) yield value as Row
    },
    file(contentHash) {
      const place = places.get(contentHash)
      if (!place) throw new Error(`the archive knows no log ${contentHash}`)
      return lineAt(path(FILE), place)
    },
  }
}

/** Every row that is named must have come before. */
function checkReferences(
  table: ArchiveTable,
  row: Row,
  numbers: ReadonlyMap<string, ReadonlySet<unknown>>,
  hashes: ReadonlySet<string>,
): void {
  columnNames(table).forEach((name, index) => {
    const other = table.references?.[name]
    const known =
      other !== undefined
        ? numbers.get(other)?.has(row[index])
        : table.name !== 'flight' || name !== 'content_hash' || hashes.has(row[index] as string)
    if (!known) throw damaged(`a row of its table "${table.name}" belongs to nothing`)
  })
}

/** What a log's record says must fit itself and its samples. Returns the size of these; null when there are none. */
function checkFile(table: ArchiveTable, row: Row, sizes: ReadonlyMap<string, number>): number | null {
  const names = columnNames(table)
  const log = parseStoredLog(row[names.indexOf('log')] as string)
  const hash = row[names.indexOf('content_hash')] as string
  if (log.contentHash !== hash) throw damaged('a log’s record is of another log')
  const bytes = sizes.get(columnsEntry(hash))
  if (bytes === undefined) return null
  if (bytes < log.layout.rows * rowBytesOf(log.layout.columns))
    throw damaged('the samples of a log are too few')
  return bytes
}

const numberSchema = v.pipe(v.number(), v.safeInteger(), v.minValue(1))

function schemaOf({ number, columns }: ArchiveTable): v.GenericSchema<unknown, Row> {
  return v.strictTuple([...(number === undefined ? [] : [numberSchema]), ...Object.values(columns)]) as never
}

/** Where a line stands in its file, in bytes. */
interface Line {
  readonly from: number
  readonly to: number
}

/** The JSON values of a file's lines. Synchronous, since a transaction is. */
function* linesIn(path: string): Generator<Line & { readonly value: unknown }> {
  const file = openSync(path, 'r')
  const chunk = Buffer.alloc(1 << 16)
  try {
    let rest = Buffer.alloc(0)
    let at = 0
    for (;;) {
      const bytes = readSync(file, chunk)
      rest = Buffer.concat([rest, chunk.subarray(0, bytes)])
      let start = 0
      for (let end = rest.indexOf(LINE_FEED); end >= 0; end = rest.indexOf(LINE_FEED, start)) {
        const value = parsed(rest.toString('utf8', start, end))
        yield { value, from: at + start, to: at + end }
        start = end + 1
      }
      at += start
      rest = rest.subarray(start)
      if (rest.length > LONGEST_LINE) throw damaged('a row in it is too long')
      if (bytes === 0) break
    }
    if (rest.length > 0) throw damaged('a table in it is cut short')
  } finally {
    closeSync(file)
  }
}

function lineAt(path: string, { from, to }: Line): Row {
  const file = openSync(path, 'r')
  try {
    const line = Buffer.alloc(to - from)
    readSync(file, line, 0, line.length, from)
    return parsed(line.toString('utf8')) as Row
  } finally {
    closeSync(file)
  }
}

function parsed(line: string): unknown {
  try {
    return JSON.parse(line)
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error
    throw damaged('a row in it can’t be read', error)
  }
}
