import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { laneOfPlan, tilePlan } from './lane-tiles.ts'
import type { ShownSignal } from './shown-signals.ts'
import type { Spectrogram } from '../signal/spectrogram.ts'

/** A lane's spectrogram on the flight's own clock, with how it was computed. */
export interface Lane extends Spectrogram {
  readonly window: number
  readonly hop: number
  readonly rate_hz: number
}

/**
 * The gyro's spectrogram over t0_s..t1_s of the flight's own clock, at about two frames per drawn column;
 * null when the axis has no gyro or the flight is shorter than a frame. Frames over gaps of the clock are NaN.
 */
export function spectrogramLane(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
  columns: number,
): Lane | null {
  return signalLane(signals, 'gyro', axis, t0_s, t1_s, columns)
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
  const plan = tilePlan(signals, t0_s, t1_s, columns)
  return plan && laneOfPlan(signals, signal, axis, plan)
}
