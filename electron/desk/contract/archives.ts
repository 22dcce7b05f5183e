/** Taking a whole library elsewhere, bringing one in, and its measures as a table. */
import * as v from 'valibot'

const count = v.pipe(v.number(), v.integer(), v.minValue(0))

/** A file that was made and waits to be fetched from `exportPath`. */
export const madeFileSchema = v.object({ exportId: v.string(), fileName: v.string(), bytes: count })
export type MadeFile = v.InferOutput<typeof madeFileSchema>

/** What an archive brought in; by its id it can be taken back while the program runs. */
export const broughtInSchema = v.object({
  importId: v.string(),
  /** Rows added and rows that were there already and stayed as they are. */
  flights: v.object({ added: count, known: count }),
  moments: v.object({ added: count, known: count }),
  changes: v.object({ added: count, known: count }),
  /** Flights without samples: their logs have to be added again before they can be looked at. */
  withoutSamples: count,
})
export type BroughtIn = v.InferOutput<typeof broughtInSchema>

const nothing = v.object({})
const named = v.object({ importId: v.string() })

export const ARCHIVE_CALLS = {
  'library.takeBack': { request: named, response: nothing },
} as const

export const ARCHIVE_STREAMS = {
  'library.export': { request: v.object({ samples: v.boolean() }), response: madeFileSchema },
  'library.measures': { request: nothing, response: madeFileSchema },
  /** Brings an archive in again after it was taken back. */
  'library.importAgain': { request: named, response: broughtInSchema },
} as const

export const ARCHIVE_PATHS = {
  /** POST: an archive's bytes in, lines of progress out, ending in a BroughtIn. */
  archive: '/desk/files/archive',
  exports: '/desk/exports/',
} as const

/** Where a made file is fetched by GET; its answer is a download. */
export const exportPath = (exportId: string): string => `${ARCHIVE_PATHS.exports}${exportId}`
