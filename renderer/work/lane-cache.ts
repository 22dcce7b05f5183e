import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import { joinTiles, tilePlan, type LaneTile } from '../../workers/comparison/lane-tiles.ts'
import type { ShownSignal } from '../../workers/comparison/shown-signals.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import type { Axis } from '../../workers/flight/axes.ts'
import type { FlightSignals } from '../../workers/flight/signals.ts'
import { Recent } from './recent.ts'

/** Raised whenever the same samples would give another picture. */
const VERSION = 2
/** A tile takes about an eighth of a megabyte. */
const recent = new Recent<LaneTile>(96 * 1024 * 1024)

/** What a lane is of: a signal of a flight. The key of its tiles holds content and reading: a changed file or meaning meets no old one. */
export interface LaneOf {
  readonly signals: FlightSignals
  readonly detail: Pick<FlightDetail, 'contentHash' | 'reading'>
  readonly signal: ShownSignal
  readonly axis: Axis
}

/** Computes the tiles with these numbers; null when the log does not hold the signal. */
export type ComputeTiles = (
  of: LaneOf,
  layout: { readonly window: number; readonly hop: number },
  tiles: readonly number[],
) => Promise<readonly LaneTile[] | null>

/**
 * A signal's spectrogram over t0_s..t1_s of its flight's own clock, put together from tiles: those that were computed before
 * come from memory, so that a view that is moved waits only for what comes into it. Null when the log does not hold it, or the span
 * is too short.
 */
export async function laneFrom(
  of: LaneOf,
  t0_s: number,
  t1_s: number,
  columns: number,
  compute: ComputeTiles,
): Promise<Lane | null> {
  const plan = tilePlan(of.signals, t0_s, t1_s, columns)
  if (!plan) return null
  const { window, hop } = plan
  const keyOf = (tile: number) =>
    JSON.stringify([VERSION, of.detail.contentHash, of.detail.reading, of.signal, of.axis, window, hop, tile])
  const tiles = new Map<number, LaneTile>()
  for (const index of plan.tiles) {
    const known = recent.get(keyOf(index))
    if (known) tiles.set(index, known)
  }
  const missing = plan.tiles.filter((index) => !tiles.has(index))
  if (missing.length > 0) {
    const made = await compute(of, { window, hop }, missing)
    if (!made) return null
    for (const tile of made) {
      tiles.set(tile.index, tile)
      recent.keep(keyOf(tile.index), tile, tile.level_db.byteLength + tile.t_s.byteLength)
    }
  }
  return joinTiles(
    plan.tiles.map((index) => tiles.get(index)!),
    plan,
    globalThis.crossOriginIsolated,
  )
}
