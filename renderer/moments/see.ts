import type { ListedMoment } from '../../electron/desk/contract/moments.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { session } from '../session.svelte.ts'
import { shelf } from './shelf.svelte.ts'

/** Flights of a craft among which a partner is looked for. */
const MOST = 500

/**
 * Opens a moment's flights side by side and takes the view there: the flights with which it was marked; where the
 * other one is not known, the one that is chosen, or else the craft's flight beside it. Returns why that can't be
 * done, in one sentence; '' when it is done.
 */
export async function seeSideBySide(moment: ListedMoment): Promise<string> {
  const found = moment.places.filter(({ flightId }) => flightId !== null)
  const marked = found.find((place) => place.marked) ?? found[0]
  if (!marked?.flightId) return 'The flight of this moment is not in the logbook: add its log again.'
  const other = marked.side === 'a' ? 'b' : 'a'
  const partner = found.find((place) => place !== marked && place.flightId !== marked.flightId)
  const already = session[other] !== marked.flightId ? session[other] : null
  try {
    const partnerId =
      partner?.flightId ?? already ?? (await neighbourOf(marked.flightId, marked.craft, marked.side))
    session[marked.side] = marked.flightId
    session[other] = partnerId
    shelf.goal = moment
    if (partnerId === null) {
      session.keep()
      return `Its flight is chosen as ${marked.side.toUpperCase()}: choose another one in the logbook to see it beside.`
    }
    session.show('compare')
    return ''
  } catch (error) {
    if (!isProblem(error)) throw error
    return error.message
  }
}

/** The flight of the same craft after an A, or before a B; where there is none, the one on the other side. */
async function neighbourOf(flightId: number, craft: string, side: 'a' | 'b'): Promise<number | null> {
  const query = { craft, group: 'none', sort: 'flown', limit: MOST } as const
  const ids = (await call('logbook.list', query)).flights.map(({ id }) => id)
  const at = ids.indexOf(flightId)
  const [before, after] = at < 0 ? [undefined, undefined] : [ids[at - 1], ids[at + 1]]
  const near = side === 'a' ? (after ?? before) : (before ?? after)
  return near ?? (await call('flight.previous', { flightId })).flight?.id ?? null
}
