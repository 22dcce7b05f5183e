import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { binFrequencies_hz } from '../signal/segments.ts'
import { spectrogram, spectrogramLayout } from '../signal/spectrogram.ts'
import { flightPart } from './flight-part.ts'
import { channelsOf, samplesOf, type ShownSignal } from './shown-signals.ts'
import type { Lane } from './spectra.ts'

/** Frames of a tile, counted from the flight's first sample: a view that is moved needs only the tiles that come into it. */
export const TILE_FRAMES = 256

/** How finely a lane is computed, in samples. */
export interface LaneLayout {
  readonly window: number
  readonly hop: number
}

/** Which tiles, and which of their frames, a view of a flight shows. */
export interface TilePlan extends LaneLayout {
  readonly rate_hz: number
  /** Numbers of the tiles, rising by one. */
  readonly tiles: readonly number[]
  /** Frames first..last (not included), counted from the flight's first sample. */
  readonly first: number
  readonly last: number
}

/** A stretch of a spectrogram: frames index * TILE_FRAMES and on, as many as the flight has. */
export interface LaneTile {
  readonly index: number
  readonly frames: number
  /** Stamps of the frames' middle samples. */
  readonly t_s: Float64Array
  /** frames x bins. */
  readonly level_db: Float32Array
}

/**
 * Window and hop for a span at about two frames per column, as spectrogramLayout gives them, but with the hop a half, a
 * quarter or an eighth of the window: views of like length share their frames.
 */
export function laneLayout(rate_hz: number, span_s: number, columns: number): LaneLayout {
  const { window, hop } = spectrogramLayout(rate_hz, Math.round(span_s * rate_hz), columns)
  const share = Math.min(8, 2 ** Math.round(Math.log2(window / hop)))
  return { window, hop: Math.max(1, window / share) }
}

/** The tiles that t0_s..t1_s of the flight's own clock needs; null when it has no samples, or fewer than a frame. */
export function tilePlan(
  { t_s, rate_hz }: FlightSignals,
  t0_s: number,
  t1_s: number,
  columns: number,
): TilePlan | null {
  if (!(rate_hz > 0 && t1_s > t0_s)) return null
  const layout = laneLayout(rate_hz, Math.min(t1_s - t0_s, t_s.at(-1)! - t_s[0]!), columns)
  const { window, hop } = layout
  const frames = framesOf(t_s.length, layout)
  const from = firstAtOrAfter(t_s, t0_s)
  const to = firstAfter(t_s, t1_s)
  if (frames === 0 || to <= from) return null
  // Frames whose middles lie in the span, and one on either side, so that the lane reaches the view's edges.
  const first = Math.max(0, Math.floor((from - window / 2) / hop))
  const last = Math.min(frames, Math.ceil((to - window / 2) / hop) + 1)
  if (last <= first) return null
  const firstTile = Math.floor(first / TILE_FRAMES)
  const count = Math.floor((last - 1) / TILE_FRAMES) - firstTile + 1
  return {
    ...layout,
    rate_hz,
    tiles: Array.from({ length: count }, (_, index) => firstTile + index),
    first,
    last,
  }
}

const framesOf = (samples: number, { window, hop }: LaneLayout): number =>
  samples < window ? 0 : Math.floor((samples - window) / hop) + 1

/**
 * Tiles of a signal's spectrogram, by their numbers; of motors the mean power of all. What a tile holds depends on the flight
 * and the layout alone, never on the view: gaps are judged by the whole clock. Null when the log does not hold the signal.
 * @param into gives the array that a tile's levels are to be written to, by its number and its frames; fresh ones when left out
 */
export function laneTiles(
  signals: FlightSignals,
  signal: ShownSignal,
  axis: Axis,
  layout: LaneLayout,
  tiles: readonly number[],
  onProgress: (done: number) => void = () => undefined,
  into: (index: number, frames: number) => Float32Array | null = () => null,
): LaneTile[] | null {
  const { t_s, rate_hz } = signals
  if (typeof samplesOf(signals, signal, axis, 0, 0) === 'string') return null
  const { breaks, isWhole } = flightPart(signals, t_s[0]!, t_s.at(-1)!)
  const channels = channelsOf(signals, signal, axis)
  // To look through the whole flight pays where most of it is asked for, and once for all its analyses.
  const whole =
    channels.length > 0 && tiles.length * TILE_FRAMES * layout.hop > t_s.length / 2 && channels.every(isWhole)
  const all = framesOf(t_s.length, layout)
  return tiles.map((index, done) => {
    const firstFrame = index * TILE_FRAMES
    const frames = Math.min(TILE_FRAMES, all - firstFrame)
    if (!(index >= 0 && frames > 0)) throw new Error(`the flight has no tile ${index}`)
    const from = firstFrame * layout.hop
    const to = from + (frames - 1) * layout.hop + layout.window
    const own = breaks.filter((row) => row > from && row < to).map((row) => row - from)
    const samples = samplesOf(signals, signal, axis, from, to) as Float32Array[]
    // Of several the mean is wanted, in an array of its own.
    const room = samples.length === 1 ? into(index, frames) : null
    const options = { rate_hz, ...layout, breaks: own, whole, ...(room ? { into: room } : {}) }
    const levels = samples.map((one) => spectrogram(one, options).level_db)
    onProgress((done + 1) / tiles.length)
    return {
      index,
      frames,
      // Where a frame's middle sample really stands: the mean rate drifts off the stamps when frames were lost.
      t_s: Float64Array.from(
        { length: frames },
        (_, frame) => t_s[from + frame * layout.hop + layout.window / 2]!,
      ),
      level_db: meanPower_db(levels),
    }
  })
}

const NEPERS_PER_DB = Math.LN10 / 10

function meanPower_db(levels: readonly Float32Array[]): Float32Array {
  const first = levels[0]!
  if (levels.length === 1) return first
  const mean_db = new Float32Array(first.length)
  for (let cell = 0; cell < first.length; cell++) {
    let sum = 0
    for (const one of levels) sum += Math.exp(NEPERS_PER_DB * one[cell]!)
    mean_db[cell] = Math.log(sum / levels.length) / NEPERS_PER_DB
  }
  return mean_db
}

/** The plan's frames of a signal, as `laneTiles` gives them, without tiles to keep: levels are written where they stay. */
export function laneOfPlan(
  signals: FlightSignals,
  signal: ShownSignal,
  axis: Axis,
  plan: TilePlan,
): Lane | null {
  const { first, last } = plan
  const bins = Math.floor(plan.window / 2) + 1
  const level_db = new Float32Array((last - first) * bins)
  const into = (index: number, frames: number): Float32Array | null => {
    const start = index * TILE_FRAMES
    if (start < first || start + frames > last) return null
    return level_db.subarray((start - first) * bins, (start - first + frames) * bins)
  }
  const tiles = laneTiles(signals, signal, axis, plan, plan.tiles, undefined, into)
  return tiles && joined(tiles, plan, level_db)
}

/** The plan's frames out of its tiles, in order; `shared`: levels in memory that every worker reads without a copy. */
export function joinTiles(tiles: readonly LaneTile[], plan: TilePlan, shared = false): Lane {
  const bytes = 4 * (plan.last - plan.first) * (Math.floor(plan.window / 2) + 1)
  return joined(tiles, plan, new Float32Array(shared ? new SharedArrayBuffer(bytes) : new ArrayBuffer(bytes)))
}

function joined(tiles: readonly LaneTile[], plan: TilePlan, level_db: Float32Array): Lane {
  const { window, hop, rate_hz, first, last } = plan
  const f_hz = binFrequencies_hz(window, rate_hz)
  const bins = f_hz.length
  const frames = last - first
  const t_s = new Float64Array(frames)
  for (const tile of tiles) {
    const start = tile.index * TILE_FRAMES
    const from = Math.max(0, first - start)
    const to = Math.min(tile.frames, last - start)
    if (to <= from) continue
    t_s.set(tile.t_s.subarray(from, to), start + from - first)
    if (tile.level_db.buffer === level_db.buffer) continue
    level_db.set(tile.level_db.subarray(from * bins, to * bins), (start + from - first) * bins)
  }
  return { frames, bins, t_s, f_hz, level_db, reference: '1 (deg/s)^2/Hz', window, hop, rate_hz }
}
