/** Where moments stand on the common clock of two flights, and where a mark of that clock is in each flight. */
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { ListedMoment } from '../../electron/desk/contract/moments.ts'
import type { Place } from '../../workers/moments/moment.ts'
import type { Side } from '../compare/comparison.svelte.ts'

/** One of the two flights, as far as times are concerned. */
export interface FlightOnClock {
  readonly side: Side
  readonly contentHash: string
  /** Where the flight begins in its log. */
  readonly start_s: number
  readonly duration_s: number
  /** Added to the flight's own time to lie on the common clock. */
  readonly shift_s: number
}

/** A moment as it stands in one flight's line. */
export interface PlacedMoment {
  readonly moment: ListedMoment
  readonly side: Side
  /** On the common clock. */
  readonly t0_s: number
  readonly t1_s: number | null
}

/** Stamps are mended for each part by itself, which may differ by a little from the log's own clock. */
const SLACK_S = 0.05
/** Times are kept to this, finer than any log's steps. */
const STEP_S = 1e-5

export function onClock(side: Side, detail: FlightDetail, shift_s: number): FlightOnClock {
  const { contentHash, span, duration_s } = detail
  return { side, contentHash, start_s: span?.t0_s ?? 0, duration_s, shift_s }
}

/** The moments that are marked in a flight, by time; those outside of its part of the log are left out. */
export function placedIn(moments: readonly ListedMoment[], flight: FlightOnClock): PlacedMoment[] {
  const { side, contentHash, start_s, duration_s, shift_s } = flight
  const found = moments.flatMap((moment) =>
    moment.places.flatMap((place): PlacedMoment[] => {
      if (!place.marked || place.contentHash !== contentHash) return []
      const own_s = place.t0_s - start_s
      if (own_s < -SLACK_S || own_s > duration_s + SLACK_S) return []
      const t1_s = place.t1_s === null ? null : place.t1_s - start_s + shift_s
      return [{ moment, side, t0_s: own_s + shift_s, t1_s }]
    }),
  )
  return found.sort((one, other) => one.t0_s - other.t0_s)
}

/**
 * The places of a mark on the common clock: marked in the wanted flights that have that time, and for a pair the
 * other flight's time beside it, so that the two can be laid over each other again. Empty when no wanted flight has
 * that time.
 */
export function placesAt(
  flights: readonly FlightOnClock[],
  wanted: readonly Side[],
  mark: { readonly t0_s: number; readonly t1_s: number | null },
): Place[] {
  const places = flights.map((flight): Place => {
    const { side, contentHash, start_s, duration_s, shift_s } = flight
    const own0_s = mark.t0_s - shift_s
    const own1_s = mark.t1_s === null ? null : mark.t1_s - shift_s
    const isThere = own0_s <= duration_s && (own1_s ?? own0_s) >= 0
    const from_s = isThere && own1_s !== null ? Math.max(0, own0_s) : own0_s
    const to_s = isThere && own1_s !== null ? Math.min(duration_s, own1_s) : own1_s
    const marked = isThere && wanted.includes(side) && (to_s === null || to_s - from_s > STEP_S)
    const kept = (t_s: number) => Number((t_s + start_s).toFixed(5))
    return {
      side,
      contentHash,
      t0_s: kept(from_s),
      t1_s: marked && to_s !== null ? kept(to_s) : null,
      marked,
    }
  })
  return places.some(({ marked }) => marked) ? places : []
}

/** The offset with which B lay over A when a moment was marked in a pair; null when both flights are not in it. */
export function offsetOf(moment: ListedMoment, a: FlightOnClock, b: FlightOnClock): number | null {
  const inA = moment.places.find(({ contentHash }) => contentHash === a.contentHash)
  const inB = moment.places.find((place) => place !== inA && place.contentHash === b.contentHash)
  if (!inA || !inB) return null
  return inA.t0_s - a.start_s - (inB.t0_s - b.start_s)
}
