import { decimated } from '../signal/decimate.ts'
import { nextPowerOfTwo } from '../signal/fft.ts'
import { refused, type Exclusion, type Method, type Refused } from '../signal/result.ts'
import { runsOf } from '../signal/segments.ts'
import type { Excitation } from './excitation.ts'

/** Setpoint and gyro of one axis over a span. */
export interface ResponseSeries {
  /** deg/s, of equal length. NaN samples take no part. */
  readonly setpoint: ArrayLike<number>
  readonly gyro: ArrayLike<number>
  readonly rate_hz: number
  /** Indices of samples before which the clock has a gap. */
  readonly breaks?: ArrayLike<number>
  /** Not 0: a motor stood at its limit, no linear estimate there. */
  readonly limited?: ArrayLike<number>
  /** Not 0: left out for another reason, said in `skippedWhat`. */
  readonly skipped?: ArrayLike<number>
  readonly skippedWhat?: string
}

/** The series as estimators take them: slow enough, about their means, NaN where they are not to be used. */
export interface PreparedSeries {
  readonly kind: 'prepared'
  readonly u: Float64Array
  readonly y: Float64Array
  readonly rate_hz: number
  readonly breaks: readonly number[]
  /** Samples per segment of about 2 s. */
  readonly segment: number
  readonly usable: number
  readonly exclusions: readonly Exclusion[]
  readonly excitation: Excitation
}

/** Spectra need no more than this: a rate loop is slower than 100 Hz. */
const SPECTRA_RATE_HZ = 500
const SEGMENT_S = 2

/**
 * Brings the series down to 500 to 1000 Hz (slower ones stay), takes their means off, and puts NaN where the motors
 * left no room or samples are to be skipped. Refuses when no segment of 2 s is left.
 */
export function prepareSeries(series: ResponseSeries, method: Method): PreparedSeries | Refused {
  const { rate_hz: source_hz, setpoint, gyro, limited, skipped } = series
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  if (!(source_hz > 0)) throw new Error(`sample rate must be positive: ${source_hz}`)
  const factor = Math.max(1, Math.floor(source_hz / SPECTRA_RATE_HZ))
  const rate_hz = source_hz / factor
  const { samples: u, breaks } = decimated(setpoint, factor, series.breaks)
  const { samples: y } = decimated(gyro, factor, series.breaks)
  const atLimit = limited ? bar(u, limited, factor) : 0
  const passedOver = skipped ? bar(u, skipped, factor) : 0
  const exclusions: Exclusion[] = []
  const exclude = (what: string, count: number) => {
    if (count > 0) exclusions.push({ what, share: count / u.length })
  }
  exclude('motors at their limit', atLimit)
  exclude(series.skippedWhat ?? 'left out', passedOver)
  const { usable, power } = takeMeansOff(u, y)
  const segment = nextPowerOfTwo(Math.round(SEGMENT_S * rate_hz * 0.75))
  if (runsOf([u, y], breaks).every((run) => run.end - run.start < segment)) {
    const why =
      atLimit > 0.1 * u.length
        ? 'The motors were at their limit so often that no 2 s in a row are left to estimate a response from.'
        : 'There are no 2 s in a row without a gap to estimate a response from.'
    return refused(why, { method, samples: usable * factor, exclusions })
  }
  const excitation = { setpointRms_dps: Math.sqrt(power / Math.max(1, usable)), excluded: atLimit / u.length }
  return { kind: 'prepared', u, y, rate_hz, breaks, segment, usable, exclusions, excitation }
}

/**
 * The same series at the rate that `prepareSeries` works at: for several estimates of it. Limits stand where any of the samples
 * had one.
 */
export function slowSeries(series: ResponseSeries): ResponseSeries {
  const factor = Math.max(1, Math.floor(series.rate_hz / SPECTRA_RATE_HZ))
  if (factor === 1) return series
  const { samples: setpoint, breaks } = decimated(series.setpoint, factor, series.breaks)
  const { samples: gyro } = decimated(series.gyro, factor, series.breaks)
  const { limited } = series
  return {
    ...{ setpoint, gyro, breaks, rate_hz: series.rate_hz / factor },
    ...(limited ? { limited: anyOf(limited, factor, setpoint.length) } : {}),
  }
}

function anyOf(barred: ArrayLike<number>, factor: number, length: number): Uint8Array {
  const any = new Uint8Array(length)
  for (let n = 0; n < length * factor; n++) if (barred[n] !== 0) any[Math.floor(n / factor)] = 1
  return any
}

/** Puts NaN where any of the `factor` samples is barred; the number of means that this costs. */
function bar(u: Float64Array, barred: ArrayLike<number>, factor: number): number {
  let count = 0
  for (let n = 0; n < u.length; n++) {
    for (let k = n * factor; k < (n + 1) * factor; k++) {
      if (barred[k] === 0) continue
      if (!Number.isNaN(u[n])) count++
      u[n] = NaN
      break
    }
  }
  return count
}

function takeMeansOff(u: Float64Array, y: Float64Array): { usable: number; power: number } {
  let usable = 0
  let sumU = 0
  let sumY = 0
  for (let n = 0; n < u.length; n++) {
    const both = u[n]! + y[n]!
    if (both - both !== 0) continue
    usable++
    sumU += u[n]!
    sumY += y[n]!
  }
  const meanU = sumU / usable
  const meanY = sumY / usable
  let power = 0
  for (let n = 0; n < u.length; n++) {
    u[n]! -= meanU
    y[n]! -= meanY
    const both = u[n]! + y[n]!
    if (both - both === 0) power += u[n]! * u[n]!
  }
  return { usable, power }
}

/** Half a second around a demand belongs to it: the loop is still answering. */
const AROUND_S = 1

/**
 * Mask (not 0: leave out) that keeps the small or the large demands: large is what lies within a second of a setpoint
 * beyond `split_dps`.
 */
export function demandMask(
  setpoint: ArrayLike<number>,
  rate_hz: number,
  split_dps: number,
  keep: 'small' | 'large',
): Uint8Array {
  const reach = Math.round(AROUND_S * rate_hz)
  const mask = new Uint8Array(setpoint.length).fill(keep === 'large' ? 1 : 0)
  const value = keep === 'large' ? 0 : 1
  let until = 0
  for (let n = 0; n < setpoint.length; n++) {
    if (!(Math.abs(setpoint[n]!) > split_dps)) continue
    const from = Math.max(until, n - reach)
    until = Math.min(setpoint.length, n + reach + 1)
    mask.fill(value, from, until)
  }
  return mask
}
