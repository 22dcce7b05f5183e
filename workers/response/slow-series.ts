import { decimated } from '../signal/decimate.ts'
import { runsOf, runsOfMeans, type Run } from '../signal/segments.ts'
import type { ResponseSeries } from './response-series.ts'

/** Setpoint and gyro of an axis as means of `factor` samples each; see `decimated`. Shared: not to be written to. */
export interface SlowSeries {
  readonly setpoint: Float64Array
  readonly gyro: Float64Array
  readonly breaks: readonly number[]
  /** Stretches where both are finite and no break falls into. */
  readonly runs: readonly Run[]
}

/** Rate loops are slower than 100 Hz: whatever estimates a response works on means at no less than this rate. */
export const SLOW_RATE_HZ = 500

/** Samples per mean, for means at SLOW_RATE_HZ or just above; 1 where the series is as slow itself. */
export const slowFactor = (rate_hz: number): number => Math.max(1, Math.floor(rate_hz / SLOW_RATE_HZ))

/** The series' means at SLOW_RATE_HZ: those at hand, or formed here. */
export const slowSeries = (series: ResponseSeries): SlowSeries => series.slow?.() ?? formed(series)

/**
 * The series with its means formed at first use and then kept: several estimates start from the same ones.
 * @param runs what `runsOf` gives for both series, where it is at hand
 */
export function withSlow(series: Omit<ResponseSeries, 'slow'>, runs?: () => readonly Run[]): ResponseSeries {
  let known: SlowSeries | undefined
  return { ...series, slow: () => (known ??= formed(series, runs)) }
}

function formed(
  { setpoint, gyro, rate_hz, breaks: gaps }: ResponseSeries,
  runsOfSamples?: () => readonly Run[],
): SlowSeries {
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  const factor = slowFactor(rate_hz)
  const { samples: u, breaks } = decimated(setpoint, factor, gaps)
  const { samples: y } = decimated(gyro, factor, gaps)
  let runs: readonly Run[] | undefined
  return {
    setpoint: u,
    gyro: y,
    breaks,
    get runs() {
      return (runs ??= runsOfSamples ? runsOfMeans(runsOfSamples(), factor) : runsOf([u, y], breaks))
    },
  }
}
