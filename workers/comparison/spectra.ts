import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'
import { spectrogram, spectrogramLayout, type Spectrogram } from '../signal/spectrogram.ts'

/** A lane's spectrogram on the flight's own clock, with how it was computed. */
export interface Lane extends Spectrogram {
  readonly window: number
  readonly hop: number
  readonly rate_hz: number
}

/**
 * The gyro's spectrogram over t0_s..t1_s of the flight's own clock, at about two frames per drawn column;
 * null when the axis has no gyro or the span is shorter than a frame. Frames over gaps of the clock are NaN.
 */
export function spectrogramLane(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
  columns: number,
  watch: { onProgress?: (done: number) => void } = {},
): Lane | null {
  const gyro = signals.channels[`gyro.${axis}`]
  if (!gyro || !(signals.rate_hz > 0)) return null
  const layout = spectrogramLayout(
    signals.rate_hz,
    firstAfter(signals.t_s, t1_s) - firstAtOrAfter(signals.t_s, t0_s),
    columns,
  )
  // Half a window more on either side, so that the lane reaches the edges of the view.
  const from = Math.max(0, firstAtOrAfter(signals.t_s, t0_s) - layout.window / 2)
  const to = Math.min(gyro.length, firstAfter(signals.t_s, t1_s) + layout.window / 2)
  if (to - from < layout.window) return null
  const t_s = signals.t_s.subarray(from, to)
  const result = spectrogram(gyro.subarray(from, to), {
    rate_hz: signals.rate_hz,
    ...layout,
    breaks: clockBreaks(t_s),
    ...watch,
  })
  return {
    ...result,
    ...layout,
    rate_hz: signals.rate_hz,
    // Where a frame's middle sample really stands: the mean rate drifts off the stamps when frames were lost.
    t_s: result.t_s.map((_, frame) => t_s[Math.min(t_s.length - 1, frame * layout.hop + layout.window / 2)] ?? 0),
  }
}

/**
 * One dB range for all lanes: from a low to a high quantile of the levels of both flights together, in whole
 * steps of 5 dB, at least 20 dB wide. Quiet enough to show the floor, not so wide that lines drown.
 */
export function commonRange_db(lanes: readonly (Pick<Lane, 'level_db'> | null)[]): {
  readonly min_db: number
  readonly max_db: number
} {
  const levels: number[] = []
  for (const lane of lanes) {
    const all = lane?.level_db ?? []
    // A few thousand levels of each lane give the quantiles closely enough.
    const step = Math.max(1, Math.floor(all.length / 4000))
    for (let index = 0; index < all.length; index += step) {
      const level = all[index]
      if (level !== undefined && Number.isFinite(level)) levels.push(level)
    }
  }
  if (levels.length === 0) return { min_db: -40, max_db: 40 }
  levels.sort((x, y) => x - y)
  const quantile = (share: number) => levels[Math.round(share * (levels.length - 1))] ?? 0
  const min_db = Math.floor(quantile(0.1) / 5) * 5
  return { min_db, max_db: Math.max(min_db + 20, Math.ceil(quantile(0.998) / 5) * 5) }
}
