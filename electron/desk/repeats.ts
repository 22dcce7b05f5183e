import * as v from 'valibot'
import { compareSheets, isSame } from '../../workers/settings/compare-sheets.ts'
import { sheetOfFlight } from '../../workers/settings/sheet-of-flight.ts'
import type { Library } from '../library/library.ts'
import { listRequestSchema } from './contract/listing.ts'
import type { RepeatOffer } from './contract/repeats.ts'

/** More are not read through: there is a search. */
const MOST = 60

/** Flights to choose a repeat from: see `flight.repeats`. @throws Problem not-found when A or B is gone */
export function repeatOffers(library: Library, a: number, b: number, search: string): RepeatOffer[] {
  const crafts = new Set([library.get(a).craft, library.get(b).craft].filter((craft) => craft !== ''))
  const same = { a: new Set(sameSettings(library, a)), b: new Set(sameSettings(library, b)) }
  const newest = (request: v.InferInput<typeof listRequestSchema>) =>
    library.listing.page(
      v.parse(listRequestSchema, { ...request, search, group: 'none', descending: true, limit: MOST + 2 }),
    ).flights
  const all = [
    // A search looks through everything alike; without one, what is likely meant comes first however old it is.
    ...(search.trim() === '' ? library.listing.summaries([...same.a, ...same.b].slice(0, MOST)) : []),
    ...(search.trim() === '' ? [...crafts].flatMap((craft) => newest({ craft })) : []),
    ...newest({}),
  ]
  const seen = new Set([a, b])
  const offers = all.flatMap((flight): RepeatOffer[] => {
    if (seen.has(flight.id)) return []
    seen.add(flight.id)
    const sameAs = (['a', 'b'] as const).filter((side) => same[side].has(flight.id))
    return [{ flight, sameAs, sameCraft: crafts.has(flight.craft) }]
  })
  const rank = ({ sameAs, sameCraft }: RepeatOffer) => (sameAs.length > 0 ? 0 : sameCraft ? 1 : 2)
  const at = ({ flight }: RepeatOffer) => flight.flownAt_ms ?? flight.indexedAt_ms
  return offers.sort((x, y) => rank(x) - rank(y) || at(y) - at(x)).slice(0, MOST)
}

/**
 * Flights of the same craft, newest first, whose settings say the same: by the names' words and the values, however they
 * are written and in whichever order; dates and flight numbers do not count. None where the flight has no settings.
 */
function sameSettings(library: Library, flightId: number): number[] {
  const [own, ...others] = library.listing.settingsOfCraft(flightId)
  const wanted = own ? sheetOfFlight(own).settings : []
  if (wanted.length === 0) return []
  return others.flatMap((other) => {
    const { settings } = sheetOfFlight(other)
    return settings.length > 0 && isSame(compareSheets(wanted, settings)) ? [other.flightId] : []
  })
}
