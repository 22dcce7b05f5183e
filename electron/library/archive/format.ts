/**
 * An archive of a whole library: a ZIP file (APPNOTE 6.3) with
 *   tables/NAME.jsonl     a table, a row a line, each a JSON array in the order of the manifest's columns
 *   columns/HASH.columns  optional: the samples of the log with this content, as electron/intake/column-file.ts has them
 *   manifest.json         last: the format's number, the tables, and size and SHA-256 of every other entry
 * Numbers that the database gives count from 1 in the archive, so that equal libraries give equal tables.
 */
import * as v from 'valibot'

export const ARCHIVE_FORMAT = 1
export const MANIFEST = 'manifest.json'

const count = v.pipe(v.number(), v.safeInteger(), v.minValue(0))

export const manifestSchema = v.object({
  program: v.literal('Twopack'),
  format: v.literal(ARCHIVE_FORMAT),
  made_ms: count,
  tables: v.array(v.object({ name: v.string(), columns: v.array(v.string()), rows: count })),
  entries: v.array(v.object({ name: v.string(), bytes: count, sha256: v.string() })),
})
export type Manifest = v.InferOutput<typeof manifestSchema>

export const tableEntry = (name: string): string => `tables/${name}.jsonl`
export const columnsEntry = (contentHash: string): string => `columns/${contentHash}.columns`

/** Every name that an entry may have. Nothing else is written to the disk, so that no name can lead anywhere. */
export const ENTRY_NAME = /^(?:manifest\.json|tables\/[a-z_]+\.jsonl|columns\/[0-9a-f]{64}\.columns)$/
