import { nextPowerOfTwo } from '../signal/fft.ts'
import { refused, type Exclusion, type Method, type Refused } from '../signal/result.ts'
import { runsWithout, type Run } from '../signal/segments.ts'
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
  const slow = slowSeries(series)
  const { setpoint, gyro, breaks } = slow
  const { length } = setpoint
  const factor = slowFactor(series.rate_hz)
  const rate_hz = series.rate_hz / factor
  const atLimit = limited ? barredStretches(limited, factor, length) : []
  const passedOver = skipped ? runsWithout(barredStretches(skipped, factor, length), atLimit) : []
  const exclusions: Exclusion[] = []
  const exclude = (what: string, count: number) => {
    if (count > 0) exclusions.push({ what, share: count / length })
  }
  const excluded = finiteIn(setpoint, atLimit)
  exclude('motors at their limit', excluded)
  exclude(series.skippedWhat ?? 'left out', finiteIn(setpoint, passedOver))
  const runs = runsWithout(runsWithout(slow.runs, atLimit), passedOver)
  const usable = runs.reduce((sum, { start, end }) => sum + end - start, 0)
  const segment = nextPowerOfTwo(Math.round(SEGMENT_S * rate_hz * 0.75))
  if (runs.every((run) => run.end - run.start < segment)) {
    const why =
      excluded > 0.1 * length
        ? 'The motors were at their limit so often that no 2 s in a row are left to estimate a response from.'
        : 'There are no 2 s in a row without a gap to estimate a response from.'
    return refused(why, { method, samples: usable * factor, exclusions })
  }
  const u = aboutMean(setpoint, runs, usable, scratch.doubles(length))
  const y = aboutMean(gyro, runs, usable, scratch.doubles(length))
  const power = runs.reduce((sum, run) => squaresIn(u, run, sum), 0)
  const excitation = { setpointRms_dps: Math.sqrt(power / Math.max(1, usable)), excluded: excluded / length }
  return { kind: 'prepared', u, y, rate_hz, breaks, runs, segment, usable, exclusions, excitation }
}

/** The series less its mean over the runs, NaN between them, written to `into`. */
function aboutMean(
  samples: Float64Array,
  runs: readonly Run[],
  count: number,
  into: Float64Array,
): Float64Array {
  const mean = runs.reduce((sum, run) => sumIn(samples, run, sum), 0) / count
  let done = 0
  for (const { start, end } of runs) {
    into.fill(NaN, done, start)
    putLess(samples, mean, into, start, end)
    done = end
  }
  return into.fill(NaN, done)
}

function putLess(samples: Float64Array, mean: number, into: Float64Array, start: number, end: number): void {
  for (let n = start; n < end; n++) into[n] = samples[n]! - mean
}

function sumIn(samples: Float64Array, { start, end }: Run, before: number): number {
  let sum = before
  for (let n = start; n < end; n++) sum += samples[n]!
  return sum
}

function squaresIn(samples: Float64Array, { start, end }: Run, before: number): number {
  let sum = before
  for (let n = start; n < end; n++) sum += samples[n]! * samples[n]!
  return sum
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

/** Stretches of means of `factor` samples of which any is barred. */
function barredStretches(barred: ArrayLike<number>, factor: number, length: number): Run[] {
  const any = anyOf(barred, factor, length)
  const stretches: Run[] = []
  for (let start = firstBarred(any, 0, length); start < length;) {
    const end = firstFree(any, start + 1, length)
    stretches.push({ start, end })
    start = firstBarred(any, end, length)
  }
  return stretches
}

function firstBarred(mask: Uint8Array, from: number, to: number): number {
  let n = from
  while (n < to && mask[n] === 0) n++
  return n
}

function firstFree(mask: Uint8Array, from: number, to: number): number {
  let n = from
  while (n < to && mask[n] !== 0) n++
  return n
}

function finiteIn(samples: Float64Array, stretches: readonly Run[]): number {
  let count = 0
  for (const { start, end } of stretches)
    for (let n = start; n < end; n++) if (!Number.isNaN(samples[n])) count++
  return count
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
