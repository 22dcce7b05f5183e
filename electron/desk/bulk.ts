import { Problem } from '../../workers/log/problems.ts'
import { readColumn } from '../intake/column-file.ts'
import type { Library } from '../library/library.ts'
import { levelOf } from './levels.ts'
import type { Bulk } from './desk-types.ts'
import type { IncomingFiles } from './incoming.ts'
import { busiestRow, sampleOf } from './samples.ts'

const ADDRESS = /^\/bulk\/(flight|incoming)\/([\w-]+)\/(column|level|sample)\/(\d+)(\?|$)/

/** Answers GETs of columns and of samples of them; null for an address that is none of these. */
export async function answerBulk(
  path: string,
  library: Library,
  incoming: IncomingFiles,
): Promise<Bulk | null> {
  const [, owner, id = '', what, number] = ADDRESS.exec(path) ?? []
  if (owner === undefined || (owner === 'incoming' && what !== 'sample')) return null
  try {
    const column = Number(number)
    if (owner === 'incoming') return bulkOf([await incoming.sample(id, column)])
    if (what === 'sample') return bulkOf([await flightSample(library, Number(id), column)])
    const { path: file, log, rows } = library.stored(Number(id))
    if (what === 'level') return bulkOf([await levelOf(file, log.layout, column, rows)])
    return bulkOf(cutRows(await readColumn(file, log.layout, column), log.rows, rows))
  } catch (error) {
    if (error instanceof Problem) return { status: 404, parts: [], byteLength: 0 }
    throw error
  }
}

function flightSample(library: Library, flightId: number, column: number): Promise<Uint8Array> {
  const { path, log, rows } = library.stored(flightId)
  const [summary] = library.listing.summaries([flightId])
  const around = busiestRow(summary?.activity?.turn_dps, rows ?? { from: 0, to: log.rows })
  return sampleOf({ columnFile: path, layout: log.layout }, column, around)
}

/** The bytes of these rows of a column of `all` rows that was read in one piece. */
function cutRows(
  parts: Uint8Array<ArrayBuffer>[],
  all: number,
  rows: { readonly from: number; readonly to: number } | null,
): Uint8Array[] {
  if (!rows) return parts
  return parts.map((part) => {
    const width = part.byteLength / all
    return part.subarray(rows.from * width, rows.to * width)
  })
}

function bulkOf(parts: Uint8Array[]): Bulk {
  return { status: 200, parts, byteLength: parts.reduce((sum, part) => sum + part.byteLength, 0) }
}
