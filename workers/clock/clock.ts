import type { ClockReport } from '../log/log.ts'
import { nthSmallest } from './nth-smallest.ts'

/**
 * The clock of a log, by method.md section 1: what its stamps do, counted, and stamps that never run backwards.
 */

/** A 32-bit microsecond counter starts over after this long: 4294.967296 s. */
export const WRAP_S = 2 ** 32 * 1e-6
/** A step longer than this many medians is a gap. */
export const GAP_MEDIANS = 1.5
/** Of a gap, at most this many missing frames may be interpolated; a longer one is masked. */
export const MAX_FILLED_FRAMES = 2

/** What became of the stamps while they were mended. Indices are of rows. */
export interface MendedClock {
  /** Non-decreasing; the first readable stamp's value is kept. */
  readonly time_s: Float64Array
  /** Rows at which the counter started over. */
  readonly wraps: readonly number[]
  /** Stamps equal to the one before. */
  readonly duplicates: number
  /** Stamps earlier than the latest one before them; they are held at it. */
  readonly backward: number
  /** Empty or infinite stamps; they are held too. */
  readonly unreadable: number
  /** Rows at which the clock began anew, as after a power cycle; it goes on one second after the latest stamp. */
  readonly restarts: readonly number[]
}

/** A step back of more than this that lasts is a new beginning, not a stray stamp. */
const RESTART_S = 1
const RESTART_ROWS = 20
/** A counter that starts over comes back within this, measured on the counter. */
const WRAP_SLACK_S = 60

/**
 * Unwraps and mends a clock. A step below -2^31 µs is a counter that started over: 2^32 µs are added from there on.
 * (Stricter than the specification: only when the counter comes back within a minute; a stray zero is no wrap.)
 * A step back by more than a second after which 20 stamps rise again without reaching the latest is a new beginning:
 * the stamps from there on are laid one second after the latest. Any other stamp earlier than the latest is held at the latest; duplicates keep their stamp. Nothing is
 * spread out or smoothed, and everything that was touched is counted.
 * @param time_s stamps in seconds, in file order; NaN allowed
 * @param mended to be filled, of the same length; may be `time_s` itself
 */
export function mend(
  time_s: Float64Array,
  mended: Float64Array = new Float64Array(time_s.length),
): MendedClock {
  const wraps: number[] = []
  const restarts: number[] = []
  let duplicates = 0
  let backward = 0
  let unreadable = 0
  let added = 0
  let before = NaN
  let latest = NaN
  for (let row = 0; row < time_s.length; row += 1) {
    const stamp = time_s[row] as number
    if (!Number.isFinite(stamp)) {
      unreadable += 1
      mended[row] = latest
      continue
    }
    const step = stamp - before
    if (step < -WRAP_S / 2 && step + WRAP_S < WRAP_SLACK_S) {
      added += WRAP_S
      wraps.push(row)
    } else if (step < -RESTART_S && beginsAnew(time_s, row, before)) {
      added = latest - stamp + RESTART_S
      restarts.push(row)
    }
    before = stamp
    const unwrapped = stamp + added
    if (unwrapped < latest) backward += 1
    else {
      if (unwrapped === latest) duplicates += 1
      latest = unwrapped
    }
    mended[row] = latest
  }
  // Rows before the first readable stamp get that stamp.
  const first = mended.findIndex((stamp) => !Number.isNaN(stamp))
  if (first > 0) mended.fill(mended[first] as number, 0, first)
  return { time_s: mended, wraps, duplicates, backward, unreadable, restarts }
}

/** Whether the next rows rise from here and stay below the stamp before. */
function beginsAnew(time_s: Float64Array, from: number, before: number): boolean {
  if (from + RESTART_ROWS > time_s.length) return false
  let falls = 0
  for (let row = from; row < from + RESTART_ROWS; row += 1) {
    const stamp = time_s[row] as number
    if (!(stamp < before)) return false
    if (row > from && stamp < (time_s[row - 1] as number)) falls += 1
  }
  return falls <= 2
}

/** The stamps of `mend` alone: non-decreasing, unwrapped. */
export function mendClock(time_s: Float64Array): Float64Array {
  return mend(time_s).time_s
}

/** A stretch without frames between two neighbouring rows. */
export interface Gap {
  /** Row before the gap; the gap ends at the next one. */
  readonly row: number
  readonly start_s: number
  readonly length_s: number
  /** Frames that the median step would have put in between; at least 1. */
  readonly missingFrames: number
}

/**
 * Median of the steps longer than zero; NaN when there is none. Duplicates say nothing about the rate.
 * @param steps memory to work in, as long as the stamps
 */
export function medianStep_s(
  mended_s: Float64Array,
  steps: Float64Array = new Float64Array(mended_s.length),
): number {
  let count = 0
  for (let row = 1; row < mended_s.length; row += 1) {
    const step = (mended_s[row] as number) - (mended_s[row - 1] as number)
    if (step > 0) steps[count++] = step
  }
  if (count === 0) return NaN
  const some = steps.subarray(0, count)
  const middle = count >> 1
  const upper = nthSmallest(some, middle)
  if (count % 2 === 1) return upper
  // Everything before `middle` is now no larger than it.
  let lower = -Infinity
  for (let index = 0; index < middle; index += 1) lower = Math.max(lower, some[index] as number)
  return (lower + upper) / 2
}

/** All steps longer than 1.5 medians of a mended clock, in order. */
export function findGaps(mended_s: Float64Array, median_s: number = medianStep_s(mended_s)): Gap[] {
  const gaps: Gap[] = []
  for (let row = 1; row < mended_s.length; row += 1) {
    const start_s = mended_s[row - 1] as number
    const length_s = (mended_s[row] as number) - start_s
    if (length_s > GAP_MEDIANS * median_s) {
      gaps.push({ row: row - 1, start_s, length_s, missingFrames: Math.round(length_s / median_s) - 1 })
    }
  }
  return gaps
}

/**
 * Marks the rows after which no line may be drawn, no value interpolated, no transform or fit continued:
 * 1 at the row before each gap of more than 2 missing frames, else 0.
 */
export function gapMask(mended_s: Float64Array, median_s: number = medianStep_s(mended_s)): Uint8Array {
  const mask = new Uint8Array(mended_s.length)
  for (const gap of findGaps(mended_s, median_s)) {
    if (gap.missingFrames > MAX_FILLED_FRAMES) mask[gap.row] = 1
  }
  return mask
}

/** Stretches of rows [from, to) between masked gaps: what a transform or fit may use in one go. */
export function unbrokenStretches(mask: Uint8Array): { from: number; to: number }[] {
  const stretches: { from: number; to: number }[] = []
  let from = 0
  for (let row = 0; row < mask.length; row += 1) {
    if (mask[row] === 1) {
      stretches.push({ from, to: row + 1 })
      from = row + 1
    }
  }
  if (from < mask.length) stretches.push({ from, to: mask.length })
  return stretches
}

/**
 * What linear interpolation of evenly spaced samples leaves of a sine's amplitude at `f_hz`: sinc^2(f/fs), the
 * transfer function of the triangle kernel. Worth a remark above fs/10.
 */
export function interpolationGain(f_hz: number, sampleRate_hz: number): number {
  const x = (Math.PI * f_hz) / sampleRate_hz
  return x === 0 ? 1 : (Math.sin(x) / x) ** 2
}

/**
 * Reads a flight's clock. Rates are NaN with fewer than two different stamps.
 * effective rate (N-1)/(tN-t1), nominal rate 1/median(dt) over steps longer than zero, missing frames
 * sum(round(dt/median)-1) over the gaps.
 */
export function readClock(time_s: Float64Array): ClockReport {
  return describeClock(mend(time_s))
}

/**
 * As `readClock`, of a clock that has been mended already.
 * @param memory to work in, as long as the stamps
 */
export function describeClock(
  mended: MendedClock,
  memory: Float64Array = new Float64Array(mended.time_s.length),
): ClockReport {
  const rows = mended.time_s.length
  const median = medianStep_s(mended.time_s, memory)
  const gaps = findGaps(mended.time_s, median)
  const duration_s = rows > 1 ? (mended.time_s[rows - 1] as number) - (mended.time_s[0] as number) : 0
  return {
    rows,
    duration_s,
    effectiveRate_hz: duration_s > 0 ? (rows - 1) / duration_s : NaN,
    nominalRate_hz: 1 / median,
    wraps: mended.wraps.length,
    duplicates: mended.duplicates,
    backward: mended.backward,
    gaps: gaps.length,
    longestGap_s: gaps.reduce((longest, gap) => Math.max(longest, gap.length_s), 0),
    missingFrames: gaps.reduce((sum, gap) => sum + gap.missingFrames, 0),
    unreadable: mended.unreadable,
    restarts: mended.restarts.length,
    ...describeSteps(mended.time_s, median, memory),
  }
}

/** Bursts, jitter and drift of a mended clock; NaN medians give zeros. */
function describeSteps(
  mended_s: Float64Array,
  median_s: number,
  offs: Float64Array,
): { bursts: number; jitter: number; drift: number } {
  const steps = Math.max(0, mended_s.length - 1)
  let ordinary = 0
  let bursts = 0
  let inBurst = false
  const quarter = Math.floor(steps / 4)
  const first = { sum: 0, count: 0 }
  const last = { sum: 0, count: 0 }
  for (let row = 1; row <= steps; row += 1) {
    const step = (mended_s[row] as number) - (mended_s[row - 1] as number)
    const short = step < median_s / 4
    if (short && !inBurst) bursts += 1
    inBurst = short
    if (step < median_s / 2 || step > GAP_MEDIANS * median_s || !(median_s > 0)) continue
    offs[ordinary++] = Math.abs(step / median_s - 1)
    const side = row <= quarter ? first : row > steps - quarter ? last : null
    if (side) {
      side.sum += step
      side.count += 1
    }
  }
  const drift = first.count > 0 && last.count > 0 ? last.sum / last.count / (first.sum / first.count) - 1 : 0
  const jitter = ordinary > 0 ? nthSmallest(offs.subarray(0, ordinary), ordinary >> 1) : 0
  return { bursts, jitter, drift }
}
