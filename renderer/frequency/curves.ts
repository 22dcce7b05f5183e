/** The analyses of both flights as curves of the charts. */
import type { AxisFrequency } from '../../workers/comparison/frequency.ts'
import type { RotorOverlay } from '../../workers/comparison/rotors.ts'
import type { SignalFrequency } from '../../workers/comparison/signal-frequency.ts'
import type { ResponseByDemand } from '../../workers/response/by-demand.ts'
import type { Refused } from '../../workers/signal/result.ts'
import { niceRange } from '../../workers/ticks/ticks.ts'
import { SIDES, type Side } from '../compare/comparison.svelte.ts'
import type { Curve, Mark } from '../ui/chart.ts'

export type Both = Readonly<Record<Side, AxisFrequency>>

const inDecibels = (values: Float64Array) => values.map((value) => 10 * Math.log10(Math.max(value, 1e-12)))

/** A density with its band, in dB. */
export function spectrumCurves(both: Readonly<Record<Side, SignalFrequency>>): Curve[] {
  return SIDES.flatMap((side): Curve[] => {
    const found = both[side].spectrum
    if (!('density' in found)) return []
    const { f_hz, density, low, high } = found
    // The first bin holds what the detrend left of the mean: nothing to read off.
    return [
      {
        side,
        name: 'density',
        x: f_hz.subarray(1),
        y: inDecibels(density.subarray(1)),
        low: inDecibels(low.subarray(1)),
        high: inDecibels(high.subarray(1)),
      },
    ]
  })
}

/** The answer to a step, with its band. */
export function stepCurves(both: Both): Curve[] {
  return SIDES.flatMap((side): Curve[] => {
    const { response } = both[side]
    if (response.kind === 'refused') return []
    const { value, interval } = response.curve
    return [
      {
        side,
        name: 'answer',
        x: response.t_s,
        y: value,
        ...(interval ? { low: interval.low, high: interval.high } : {}),
      },
    ]
  })
}

/** Tracking error in windows of a second on the common clock, or the lag in windows of four. */
export function trackingCurves(both: Both, what: 'error' | 'lag', shift_s: (side: Side) => number): Curve[] {
  return SIDES.flatMap((side): Curve[] => {
    const { overTime } = both[side]
    if (overTime.kind === 'refused') return []
    const moved = (t_s: Float64Array) => t_s.map((t) => t + shift_s(side))
    return [
      what === 'error'
        ? { side, name: 'tracking error', x: moved(overTime.t_s), y: overTime.rms_dps }
        : { side, name: 'lag', x: moved(overTime.lagT_s), y: overTime.lag_ms },
    ]
  })
}

/** From 0, or the lowest value below it, to a round number that holds all curves. */
export function rangeFromZero(curves: readonly Curve[]): { min: number; max: number } {
  let [least, most] = [0, 0]
  for (const { y } of curves)
    for (let n = 0; n < y.length; n++) {
      const value = y[n]!
      if (value > most) most = value
      if (value < least) least = value
    }
  const { min, max } = niceRange(least, most > least ? most : least + 1, 4)
  return { min, max }
}

/** Size from the unfiltered to the filtered gyro, dB. */
export function filterCurves(both: Both): Curve[] {
  return SIDES.flatMap((side): Curve[] => {
    const { filter } = both[side]
    if (filter.kind === 'refused') return []
    const { f_hz, size_db, trusted } = filter
    const from = 1
    return [
      {
        side,
        name: 'filtered over unfiltered',
        x: f_hz.subarray(from),
        y: size_db.subarray(from),
        trusted: trusted.subarray(from),
      },
    ]
  })
}

/** Answers to small and to large demands of one flight, each drawn as that flight's curve. */
export function demandCurves(
  demand: Readonly<Record<Side, ResponseByDemand | null>>,
  part: 'small' | 'large',
): Curve[] {
  return SIDES.flatMap((side): Curve[] => {
    const found = demand[side]?.[part]
    if (found?.kind !== 'given') return []
    const { value, interval } = found.curve
    return [
      {
        side,
        name: `${part} demands`,
        x: found.t_s,
        y: value,
        ...(interval ? { low: interval.low, high: interval.high } : {}),
      },
    ]
  })
}

/** Where the rotors' lines show in a spectrum; folded ones say so. */
export function rotorMarks(
  rotors: Readonly<Record<Side, RotorOverlay | Refused | null>>,
  fMax_hz: number,
): Mark[] {
  return SIDES.flatMap((side): Mark[] => {
    const found = rotors[side]
    if (found?.kind !== 'given') return []
    return found.lines
      .filter(({ shown_hz }) => shown_hz <= fMax_hz)
      .map(({ name, shown_hz, folded }) => ({
        side,
        x: shown_hz,
        words: `${side.toUpperCase()} ${name}${folded ? ', folded' : ''}${found.from === 'found' ? ' ?' : ''}`,
      }))
  })
}

function loopCurve(both: Both, name: string, pick: 'magnitude_db' | 'phase_deg' | 'coherence'): Curve[] {
  return SIDES.flatMap((side): Curve[] => {
    const { loop } = both[side]
    if ('kind' in loop) return []
    return [{ side, name, x: loop.f_hz, y: loop[pick], trusted: loop.coherent }]
  })
}

export const loopCurves = (both: Both): Curve[] => loopCurve(both, 'gain', 'magnitude_db')
export const phaseCurves = (both: Both): Curve[] => loopCurve(both, 'phase', 'phase_deg')
export const coherenceCurves = (both: Both): Curve[] => loopCurve(both, 'coherence', 'coherence')

/** A range of whole steps that holds all curves, at least `least` wide. */
export function rangeOf(curves: readonly Curve[], step: number, least: number): { min: number; max: number } {
  let min = Infinity
  let max = -Infinity
  for (const { y } of curves) {
    for (let index = 0; index < y.length; index++) {
      const value = y[index] ?? NaN
      if (value < min) min = value
      if (value > max) max = value
    }
  }
  if (min > max) return { min: -40, max: 40 }
  const low = Math.floor(min / step) * step
  return { min: low, max: Math.max(low + least, Math.ceil(max / step) * step) }
}
