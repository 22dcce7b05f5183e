import { groupDelay_s } from './filters.ts'
import { given, refused, type Result } from './result.ts'
import {
  filtersInSheet,
  loopRateInSheet,
  sectionOf,
  type SheetEntry,
  type SheetFilter,
} from './sheet-filters.ts'

/** Delay of the filters of one place in the loop, e.g. before the gyro's use, or before D. */
export interface PlaceDelay {
  /** 'gyro', 'D', ... as the sheet has it; '' when it does not say. */
  readonly place: string
  /** "low-pass 130 Hz", "notch 225 Hz". */
  readonly filters: readonly string[]
  /** Of slow movements, ms, and at BUSY_HZ. */
  readonly slow: Result<number>
  readonly busy: Result<number>
}

export const SHEET_METHOD = { id: 'sheet-filter-delay', version: 1 }
/** Where a rate loop has its hands full (common practice, no source). */
export const BUSY_HZ = 50

/**
 * Group delay of the filters that a settings sheet describes, together per place, computed at the rate at which the craft
 * runs them: exact for the filters as described (bilinear sections, see filters.ts), so no interval. Refuses with one
 * sentence when there is no sheet or it describes none.
 * @param entries of the flight's sheet; none where it has no sheet
 * @param log_hz the log's rate, taken with a caution where the sheet does not name the loop's
 */
export function sheetDelays(entries: readonly SheetEntry[], log_hz: number): PlaceDelay[] | string {
  if (entries.length === 0) return 'The flight has no settings sheet to read the filters from.'
  const filters = filtersInSheet(entries)
  if (filters.length === 0) return 'The settings sheet describes no filter that could be read.'
  const named_hz = loopRateInSheet(entries)
  const rate_hz = named_hz ?? Math.max(log_hz, 1000)
  const places = new Map<string, SheetFilter[]>()
  for (const filter of filters) {
    // "notch 1 Hz" stands for the gyro's path like "gyro low-pass Hz" does: notches before anything else are rare.
    const place = /gyro|^$/i.test(filter.place) ? 'gyro' : filter.place
    places.set(place, [...(places.get(place) ?? []), filter])
  }
  return [...places].map(([place, own]): PlaceDelay => {
    const carried = own.filter((filter) => filter.f_hz < rate_hz / 2)
    const cautions = own.flatMap((filter) =>
      filter.assumed.map((what) => `${wordsOf(filter)}: taken as ${what}, the sheet does not say.`),
    )
    if (named_hz === null)
      cautions.push(`The sheet does not name the loop’s rate: computed at ${rate_hz.toFixed(0)} Hz.`)
    const basis = { method: SHEET_METHOD, cautions }
    const at = (f_hz: number): Result<number> =>
      carried.length < own.length
        ? refused('A filter lies above half the rate at which it would run.', basis)
        : given(
            1000 *
              groupDelay_s(
                own.map((filter) => sectionOf(filter, rate_hz)),
                f_hz,
                rate_hz,
              ),
            'ms',
            basis,
          )
    return { place, filters: own.map(wordsOf), slow: at(0), busy: at(BUSY_HZ) }
  })
}

const wordsOf = ({ kind, f_hz }: SheetFilter): string => `${kind} ${Number(f_hz.toPrecision(4))} Hz`

/** Blades and pole pairs where a settings sheet names them; magnets count as half their number. */
export function rotorFactsInSheet(entries: readonly SheetEntry[]): {
  blades: number | null
  polePairs: number | null
} {
  let blades: number | null = null
  let polePairs: number | null = null
  for (const { name, value } of entries) {
    const words = name.replaceAll(/[_.-]+/g, ' ').toLowerCase()
    const number = Number.parseFloat(value)
    if (!(Number.isInteger(number) && number > 0)) continue
    if (/\bblades?\b/.test(words) && number <= 8) blades ??= number
    else if (/\bpole ?pairs?\b/.test(words) && number <= 30) polePairs ??= number
    else if (/\b(magnets?|poles)\b/.test(words) && number % 2 === 0 && number <= 60) polePairs ??= number / 2
  }
  return { blades, polePairs }
}
