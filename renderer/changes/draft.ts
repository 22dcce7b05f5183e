import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { Change, FlightOfChange, KeptVerdict } from '../../workers/changes/change.ts'
import { changedValues, takenBackBy } from '../../workers/changes/trail.ts'
import type { SheetPair } from '../settings/sheet-pair.svelte.ts'

/** The clock's reading as if it were UTC: as the times of flights are kept, whose zone no log tells. */
export const clockNow_ms = (): number => Date.now() - new Date().getTimezoneOffset() * 60_000

export const flightOf = (detail: {
  id: number
  contentHash: string
  name: string
  flownAt_ms: number | null
}): FlightOfChange => ({
  flightId: detail.id,
  contentHash: detail.contentHash,
  name: detail.name,
  flownAt_ms: detail.flownAt_ms,
})

/** A change with nothing said of it. */
export function emptyChange(craft: string): Change {
  return {
    id: crypto.randomUUID(),
    craft,
    madeAt_ms: clockNow_ms(),
    what: '',
    settings: [],
    why: '',
    expectation: '',
    note: '',
    before: [],
    after: [],
    verdict: null,
    earlier: [],
    undone: null,
    takesBack: null,
    best: false,
  }
}

/** The change between two flights, as far as their sheets and the verdict on them tell it. */
export function changeBetween(
  a: FlightDetail,
  b: FlightDetail,
  sheets: SheetPair,
  verdict: KeptVerdict | null,
  trail: readonly Change[],
): Change {
  const settings = sheets.complete ? changedValues(sheets.comparison) : []
  return {
    ...emptyChange(b.craft || a.craft),
    // Where it belongs in the trail, also when it is recorded long after.
    madeAt_ms: b.flownAt_ms ?? clockNow_ms(),
    what: sheets.complete ? sheets.things.map(({ words }) => words).join('; ') : '',
    settings,
    before: [flightOf(a)],
    after: [flightOf(b)],
    verdict,
    takesBack: takenBackBy(trail, settings)?.id ?? null,
  }
}
