import type { Manoeuvre } from '../../workers/manoeuvre/manoeuvre.ts'
import type { Pair } from '../../workers/verdict/comparison.ts'
import { spanOfPair, visitPair } from '../verdict/pair-span.ts'
import { SIDES, type Comparison, type Side } from './comparison.svelte.ts'

/** A place on the common clock that the cursor may snap to. */
export interface Edge {
  readonly t_s: number
  /** `A roll right, stop`. */
  readonly words: string
}

/** The cursor snaps to a place this near. */
export const SNAP_PX = 7
/** Seconds shown before and after a manoeuvre that keys went to. */
const AROUND_S = 0.6

/** Begin, stop and end of every manoeuvre of both flights, rising. */
export function edgesOf(comparison: Comparison): Edge[] {
  const edges = SIDES.flatMap((side) =>
    flown(comparison, side).flatMap(({ name, start_s, stop_s, end_s }) => {
      const at = (own_s: number, what: string): Edge => ({
        t_s: own_s + comparison.shift_s(side),
        words: `${side.toUpperCase()} ${name}, ${what}`,
      })
      return [at(start_s, 'begin'), ...(stop_s === null ? [] : [at(stop_s, 'stop')]), at(end_s, 'end')]
    }),
  )
  return edges.sort((a, b) => a.t_s - b.t_s)
}

/** The edge nearest to a time, when it is within reach. */
export function nearestEdge(edges: readonly Edge[], t_s: number, reach_s: number): Edge | null {
  let low = 0
  let high = edges.length
  while (low < high) {
    const middle = (low + high) >>> 1
    if (edges[middle]!.t_s < t_s) low = middle + 1
    else high = middle
  }
  const near = [edges[low - 1], edges[low]].filter((edge) => edge !== undefined)
  const [best] = near.sort((a, b) => Math.abs(a.t_s - t_s) - Math.abs(b.t_s - t_s))
  return best && Math.abs(best.t_s - t_s) <= reach_s ? best : null
}

/** Takes cursor and view to the next manoeuvre of either flight (or the one before), and chooses it. */
export function goToManoeuvre(comparison: Comparison, by: -1 | 1): void {
  const all = SIDES.flatMap((side) =>
    flown(comparison, side).map((manoeuvre) => ({
      side,
      manoeuvre,
      at_s: (manoeuvre.stop_s ?? manoeuvre.start_s) + comparison.shift_s(side),
    })),
  ).sort((a, b) => a.at_s - b.at_s)
  const { chosen } = comparison.verdict
  const here = all.findIndex(({ side, manoeuvre }) => chosen?.side === side && chosen.id === manoeuvre.id)
  const now_s = comparison.cursor_s ?? comparison.view.span.t0_s
  const beyond =
    by > 0
      ? all.findIndex(({ at_s }) => at_s > now_s + 1e-6)
      : all.findLastIndex(({ at_s }) => at_s < now_s - 1e-6)
  const atCursor = here >= 0 && Math.abs(all[here]!.at_s - now_s) < 1e-6
  const next = all[atCursor ? here + by : beyond]
  if (!next) return
  comparison.verdict.chosen = { side: next.side, id: next.manoeuvre.id }
  comparison.cursor_s = next.at_s
  const shift_s = comparison.shift_s(next.side)
  const { t0_s, t1_s } = comparison.view.span
  const [from_s, to_s] = [next.manoeuvre.start_s + shift_s, next.manoeuvre.end_s + shift_s]
  if (from_s >= t0_s && to_s <= t1_s) return
  const length_s = Math.max(t1_s - t0_s, to_s - from_s + 2 * AROUND_S)
  comparison.view.show({ t0_s: next.at_s - length_s / 2, t1_s: next.at_s + length_s / 2 })
}

/** The pair whose manoeuvre of A is nearest to a time of the common clock. */
export function pairNear(comparison: Comparison, t_s: number): Pair | null {
  const all = pairsInTime(comparison)
  const [best] = [...all].sort((a, b) => Math.abs(a.at_s - t_s) - Math.abs(b.at_s - t_s))
  return best?.pair ?? null
}

/** Takes both flights to the next pair in the order of A's flight, B laid over A by it. */
export function goToPair(comparison: Comparison, by: -1 | 1): void {
  const all = pairsInTime(comparison)
  const now_s = comparison.cursor_s ?? comparison.view.span.t0_s
  const next =
    by > 0 ? all.find(({ at_s }) => at_s > now_s + 1e-6) : all.findLast(({ at_s }) => at_s < now_s - 1e-6)
  if (next) visitPair(comparison, next.pair)
}

function pairsInTime({ verdict }: Comparison) {
  const { found } = verdict
  if (!found) return []
  return found.pairs
    .flatMap((pair) => {
      const place = spanOfPair(found, pair)
      return place ? [{ pair, at_s: place.cursor_s }] : []
    })
    .sort((a, b) => a.at_s - b.at_s)
}

function flown({ verdict }: Comparison, side: Side): readonly Manoeuvre[] {
  return (verdict.found?.[side].manoeuvres ?? []).filter(({ kind }) => kind !== 'hover')
}
