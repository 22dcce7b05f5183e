import * as v from 'valibot'
import { isProblem, Problem } from '../../../workers/log/problems.ts'
import type { ManoeuvreEdit } from '../../../workers/manoeuvre/manoeuvre.ts'
import { HEADROOM_METHOD } from '../../../workers/response/headroom.ts'
import { STEP_METHOD } from '../../../workers/response/step-response.ts'
import { csvText, type CsvCell } from '../../../workers/text/csv-out.ts'
import { COMPARISON_METHOD } from '../../../workers/verdict/method.ts'
import { editsKey, editsSchema } from '../../desk/contract/edits.ts'
import type { Work } from '../../desk/incoming.ts'
import type { Library } from '../library.ts'
import { FLIGHT_MEASURES, FLIGHT_MEASURES_METHOD, type MeasureOrder } from './measure-stored.ts'

const storedSchema = v.pipe(v.array(v.nullable(v.number())), v.length(FLIGHT_MEASURES.length))

const HEAD = [
  'flight',
  'craft',
  'flown (UTC)',
  'file',
  'length (s)',
  'rate (Hz)',
  'samples',
  ...FLIGHT_MEASURES,
]

/** Methods whose results stand in the table: another version is another table. */
const DEPENDS_ON = [COMPARISON_METHOD, STEP_METHOD, HEADROOM_METHOD]
  .map(({ id, version }) => `${id} ${version}`)
  .join(', ')

/** Edits as they were kept; what no longer fits (an older version's) counts as none. */
function editsKept(text: string | null): readonly ManoeuvreEdit[] {
  const parsed = v.safeParse(editsSchema, JSON.parse(text ?? '[]'))
  return parsed.success ? parsed.output : []
}

/** Flights that are listed at a time. */
const PAGE = 200

/**
 * Every flight of the library with its measures, as CSV. Measures that were computed before are taken as they were
 * kept; a flight without samples has none.
 * @param measure computes a flight's measures anew
 * @throws Problem cancelled, or as `measure` does
 */
export async function measuresTable(
  library: Library,
  measure: (order: MeasureOrder) => Promise<readonly (number | null)[]>,
  { signal, report }: Work,
  now_ms: () => number,
): Promise<string> {
  const rows: CsvCell[][] = []
  let total = 1
  for (let offset = 0; offset < total; offset += PAGE) {
    const page = library.listing.page({
      ...{ search: '', craft: null, health: 'any', group: 'none', sort: 'flown', descending: false },
      ...{ offset, limit: PAGE, also: [] },
    })
    total = page.total
    for (const flight of page.flights) {
      if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
      report({ phase: `Measuring ${flight.name}`, done: rows.length / Math.max(1, total) })
      const values = await measuresOf(library, flight.id, measure, now_ms())
      rows.push([
        flight.name,
        flight.craft,
        flight.flownAt_ms === null ? null : new Date(flight.flownAt_ms).toISOString().slice(0, 19),
        flight.fileName,
        flight.duration_s,
        flight.rate_hz,
        flight.rows,
        ...values,
      ])
    }
  }
  return csvText({ head: HEAD, rows })
}

async function measuresOf(
  library: Library,
  flightId: number,
  measure: (order: MeasureOrder) => Promise<readonly (number | null)[]>,
  now_ms: number,
): Promise<readonly (number | null)[]> {
  const detail = library.get(flightId)
  const edits = editsKept(library.memory.kept(editsKey(detail)))
  const key = {
    ...library.reading(flightId),
    method: FLIGHT_MEASURES_METHOD.id,
    version: FLIGHT_MEASURES_METHOD.version,
    parameters: { edits: JSON.stringify(edits), versions: DEPENDS_ON },
  }
  const kept = library.results.get(key, now_ms)
  if (kept !== null) return v.parse(storedSchema, JSON.parse(kept))
  const { path, log, rows } = library.stored(flightId)
  try {
    const values = await measure({
      columnFile: path,
      layout: log.layout,
      assignments: detail.assignments as never,
      rows,
      edits,
    })
    library.results.keep(key, JSON.stringify(values), now_ms)
    return values
  } catch (error) {
    // A flight that came by an archive without samples has no measures until its log is added again.
    if (isProblem(error) && error.code === 'source-missing') return FLIGHT_MEASURES.map(() => null)
    throw error
  }
}
