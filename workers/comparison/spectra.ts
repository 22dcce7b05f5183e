import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'
import { samplesOf, type ShownSignal } from './shown-signals.ts'
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
  watch: LaneWatch = {},
): Lane | null {
  const gyro = signals.channels[`gyro.${axis}`]
  return gyro ? laneOf(signals, gyro, t0_s, t1_s, columns, watch) : null
}

/** The same of any signal; of motors the mean power of all. Null when the log does not hold it. */
export function signalLane(
  signals: FlightSignals,
  signal: ShownSignal,
  axis: Axis,
  t0_s: number,
  t1_s: number,
  columns: number,
): Lane | null {
  const samples = samplesOf(signals, signal, axis, 0, signals.t_s.length)
  if (typeof samples === 'string') return null
  const lanes = samples.flatMap((one) => laneOf(signals, one, t0_s, t1_s, columns, {}) ?? [])
  const [first] = lanes
  if (!first || lanes.length === 1) return first ?? null
  const level_db = first.level_db.map(
    (_, cell) =>
      10 * Math.log10(lanes.reduce((sum, lane) => sum + 10 ** (lane.level_db[cell]! / 10), 0) / lanes.length),
  )
  return { ...first, level_db }
}

interface LaneWatch {
  readonly onProgress?: (done: number) => void
}

function laneOf(
  signals: FlightSignals,
  samples: Float32Array,
  t0_s: number,
  t1_s: number,
  columns: number,
  watch: LaneWatch,
): Lane | null {
  if (!(signals.rate_hz > 0)) return null
  const layout = spectrogramLayout(
    signals.rate_hz,
    firstAfter(signals.t_s, t1_s) - firstAtOrAfter(signals.t_s, t0_s),
    columns,
  )
  // Half a window more on either side, and a hop for the last frame, so that the lane reaches the view's edges.
  const from = Math.max(0, firstAtOrAfter(signals.t_s, t0_s) - layout.window / 2)
  const to = Math.min(samples.length, firstAfter(signals.t_s, t1_s) + layout.window / 2 + layout.hop)
  if (to - from < layout.window) return null
  const t_s = signals.t_s.subarray(from, to)
  const result = spectrogram(samples.subarray(from, to), {
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
    t_s: result.t_s.map(
      (_, frame) => t_s[Math.min(t_s.length - 1, frame * layout.hop + layout.window / 2)] ?? 0,
    ),
  }
}
