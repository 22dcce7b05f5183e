import { nextPowerOfTwo } from '../signal/fft.ts'
import { refused, type Exclusion, type Method, type Refused } from '../signal/result.ts'
import { runsOf, type Run } from '../signal/segments.ts'
import { inStretches } from '../signal/stretches.ts'
import type { Excitation } from './excitation.ts'
import type { Scratch } from '../signal/scratch.ts'
import { slowFactor, slowSeries, type SlowSeries } from './slow-series.ts'

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
  /** The means of `slowSeries`, where they are at hand; see `withSlow`. */
  readonly slow?: () => SlowSeries
}

/** The series as estimators take them: slow enough, about their means, NaN where they are not to be used. */
export interface PreparedSeries {
  readonly kind: 'prepared'
  readonly u: Float64Array
  readonly y: Float64Array
  readonly rate_hz: number
  readonly breaks: readonly number[]
  /** Stretches that can be used, at least one of them as long as a segment. */
  readonly runs: readonly Run[]
  /** Samples per segment of about 2 s. */
  readonly segment: number
  readonly usable: number
  readonly exclusions: readonly Exclusion[]
  readonly excitation: Excitation
}

const SEGMENT_S = 2

/**
 * Brings the series down to 500 to 1000 Hz (slower ones stay), takes their means off, and puts NaN where the motors
 * left no room or samples are to be skipped. Refuses when no segment of 2 s is left. What is prepared lies in `scratch`.
 */
export function prepareSeries(
  series: ResponseSeries,
  method: Method,
  scratch: Scratch,
): PreparedSeries | Refused {
  const { limited, skipped } = series
  const { setpoint, gyro, breaks } = slowSeries(series)
  const factor = slowFactor(series.rate_hz)
  const rate_hz = series.rate_hz / factor
  const u = scratch.doubles(setpoint.length)
  const y = scratch.doubles(gyro.length)
  u.set(setpoint)
  y.set(gyro)
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
  const runs = runsOf([u, y], breaks)
  if (runs.every((run) => run.end - run.start < segment)) {
    const why =
      atLimit > 0.1 * u.length
        ? 'The motors were at their limit so often that no 2 s in a row are left to estimate a response from.'
        : 'There are no 2 s in a row without a gap to estimate a response from.'
    return refused(why, { method, samples: usable * factor, exclusions })
  }
  const excitation = { setpointRms_dps: Math.sqrt(power / Math.max(1, usable)), excluded: atLimit / u.length }
  return { kind: 'prepared', u, y, rate_hz, breaks, runs, segment, usable, exclusions, excitation }
}

/**
 * The same series at the rate that `prepareSeries` works at: for several estimates of it. Limits stand where any of the samples
 * had one.
 */
export function slowed(series: ResponseSeries): ResponseSeries {
  const factor = slowFactor(series.rate_hz)
  if (factor === 1) return series
  const slow = slowSeries(series)
  const { setpoint, gyro, breaks } = slow
  const { limited } = series
  return {
    ...{ setpoint, gyro, breaks, rate_hz: series.rate_hz / factor, slow: () => slow },
    ...(limited ? { limited: anyOf(limited, factor, setpoint.length) } : {}),
  }
}

function anyOf(barred: ArrayLike<number>, factor: number, length: number): Uint8Array {
  if (factor === 1 && barred instanceof Uint8Array) return barred
  const any = new Uint8Array(length)
  if (factor === 4 && barred instanceof Uint8Array && barred.byteOffset % 4 === 0) {
    // Four of a mask at once, as one number.
    const fours = new Uint32Array(barred.buffer, barred.byteOffset, Math.min(length, barred.length >> 2))
    inStretches(fours.length, (from, to) => markFours(fours, any, from, to))
  } else inStretches(length, (from, to) => markAny(barred, factor, any, from, to))
  return any
}

function markFours(fours: Uint32Array, any: Uint8Array, from: number, to: number): void {
  for (let n = from; n < to; n++) any[n] = fours[n] === 0 ? 0 : 1
}

function markAny(barred: ArrayLike<number>, factor: number, any: Uint8Array, from: number, to: number): void {
  for (let n = from; n < to; n++) {
    const end = (n + 1) * factor
    for (let k = n * factor; k < end; k++) if (barred[k] !== 0) any[n] = 1
  }
}

/** Puts NaN where any of the `factor` samples is barred; the number of means that this costs. */
function bar(u: Float64Array, barred: ArrayLike<number>, factor: number): number {
  const any = anyOf(barred, factor, u.length)
  let count = 0
  inStretches(u.length, (from, to) => (count += barStretch(u, any, from, to)))
  return count
}

function barStretch(u: Float64Array, any: Uint8Array, from: number, to: number): number {
  let count = 0
  for (let n = from; n < to; n++) {
    if (any[n] === 0) continue
    if (!Number.isNaN(u[n])) count++
    u[n] = NaN
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
  for (let n = 0; n < setpoint.length; n++) {
    if (!(Math.abs(setpoint[n]!) > split_dps)) continue
    const from = Math.max(0, n - reach)
    while (n + 1 < setpoint.length && Math.abs(setpoint[n + 1]!) > split_dps) n++
    mask.fill(value, from, n + reach + 1)
  }
  return mask
}
