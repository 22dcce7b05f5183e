import type { ListedMoment } from '../../electron/desk/contract/moments.ts'
import { fieldCard, type FieldCard, type MomentToFly } from '../../workers/fieldcard/field-card.ts'
import { call } from '../desk/client.ts'
import { evidenceOf } from '../moments/evidence.ts'

/** More than any card has room for. */
const MOST = 100

/** The card of a craft's moments that are to be flown again. @throws Problem as calls to the desk do */
export async function loadCard(craft: string): Promise<FieldCard> {
  const query = { craft, flyAgain: true, sort: 'stars', limit: MOST } as const
  const { moments, total } = await call('moments.list', query)
  const card = fieldCard(craft, await Promise.all(moments.map(toFly)))
  return { ...card, left: card.left + Math.max(0, total - moments.length) }
}

async function toFly(moment: ListedMoment): Promise<MomentToFly> {
  const [a, b] = (['a', 'b'] as const).map((side) => moment.places.find((place) => place.side === side))
  const marked = moment.places.filter((place) => place.marked)
  const flownAt_ms = marked[0]?.flownAt_ms ?? null
  const at = (place: ListedMoment['places'][number]) => {
    return { contentHash: place.contentHash, start_s: place.flightStart_s }
  }
  return {
    whatToFly: moment.whatToFly,
    note: moment.note,
    tags: moment.tags,
    stars: moment.stars,
    flights: [...new Set(marked.map(({ flightName }) => flightName).filter((name) => name !== ''))],
    day: flownAt_ms === null ? null : new Date(flownAt_ms).toISOString().slice(0, 10),
    evidence: a && b ? await evidenceOf(at(a), at(b)) : null,
  }
}
