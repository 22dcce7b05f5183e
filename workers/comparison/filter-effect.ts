import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { Problem } from '../log/problems.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { closedLoop, type ClosedLoop } from '../response/closed-loop.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'
import { crossSpectra, type CrossSpectra } from '../signal/cross-spectra.ts'
import { refused, type Refused, type Result } from '../signal/result.ts'

/** What the craft's filters do to the gyro, from both logged. */
export interface FilterEffect {
  readonly kind: 'given'
  /** From the unfiltered to the filtered gyro. */
  readonly loop: ClosedLoop
  /** Delay of movements up to SLOW_HZ, ms. */
  readonly delay: Result<number>
  /** Where the filters have taken 3 dB, Hz. */
  readonly corner: Result<number>
}

export const FILTER_METHOD = { id: 'filter-effect', version: 1 }
/** The delay is that of movements up to here: what a loop has to do with. */
const SLOW_HZ = 60
const SEGMENT_S = 1

/**
 * Size and phase from the unfiltered to the filtered gyro by H1 (see closedLoop), where both go together, and the delay of
 * slow movements from the phase's slope up to 60 Hz. Refuses where either is not logged.
 */
export function filterEffect(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
): FilterEffect | Refused {
  const basis = { method: FILTER_METHOD }
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const to = firstAfter(signals.t_s, t1_s)
  const before = signals.channels[`unfiltered.${axis}`]?.subarray(from, to)
  const after = signals.channels[`gyro.${axis}`]?.subarray(from, to)
  if (!before || !after) return refused('The log holds no unfiltered gyro beside the filtered one.', basis)
  const { rate_hz } = signals
  const segment = 2 ** Math.round(Math.log2(SEGMENT_S * rate_hz))
  try {
    const breaks = clockBreaks(signals.t_s.subarray(from, to))
    const spectra = crossSpectra(before, after, { rate_hz, segment, breaks, single: true })
    const loop = closedLoop(spectra)
    return {
      kind: 'given',
      loop,
      delay: renamed(closedLoop(upTo(spectra, SLOW_HZ)).phaseDelay),
      corner: renamed(loop.bandwidth),
    }
  } catch (error) {
    if (error instanceof Problem) return refused(error.message, basis)
    throw error
  }
}

const renamed = (result: Result<number>): Result<number> => ({ ...result, method: FILTER_METHOD })

function upTo(spectra: CrossSpectra, top_hz: number): CrossSpectra {
  const end = Math.max(8, spectra.f_hz.findLastIndex((f_hz) => f_hz <= top_hz) + 1)
  const cut = (values: Float64Array) => values.subarray(0, end)
  return {
    ...spectra,
    f_hz: cut(spectra.f_hz),
    uu: cut(spectra.uu),
    yy: cut(spectra.yy),
    uyRe: cut(spectra.uyRe),
    uyIm: cut(spectra.uyIm),
  }
}
