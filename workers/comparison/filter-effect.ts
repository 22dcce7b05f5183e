import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { Problem } from '../log/problems.ts'
import { closedLoop } from '../response/closed-loop.ts'
import { sumsAround } from '../signal/arithmetic.ts'
import {
  coherence,
  crossSpectra,
  h1RelativeError,
  type CrossOptions,
  type CrossSpectra,
} from '../signal/cross-spectra.ts'
import { runsOfMeans, type Run } from '../signal/segments.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import { inStretches } from '../signal/stretches.ts'
import { given, refused, type Basis, type Refused, type Result } from '../signal/result.ts'
import { flightPart } from './flight-part.ts'

/** What the craft's filters do to the gyro, from both logged. */
export interface FilterEffect {
  readonly kind: 'given'
  readonly f_hz: Float64Array
  /** Size from the unfiltered to the filtered gyro. */
  readonly size_db: Float64Array
  readonly coherence: Float64Array
  /** 1 where both gyros go together closely enough to read the size off. */
  readonly trusted: Uint8Array
  /** Delay of slow movements, ms. */
  readonly delay: Result<number>
  /** Where the filters have first taken 3 dB, Hz. */
  readonly corner: Result<number>
}

export const FILTER_METHOD = { id: 'filter-effect', version: 2 }
/** The delay is that of movements up to here: what the sticks ask for, far below any filter's corner. */
const SLOW_HZ = 25
/** Long segments: slow movements are strong, and leak into faster ones, whose delay would come out too short. */
const DELAY_SEGMENT_S = 4
const SIZE_SEGMENT_S = 1
/** Fast enough for movements of 25 Hz: what folds there is all but gone from the means. */
const DELAY_RATE_HZ = 500
/** Coherence from which a size is read off (own limit, no source). */
const LEAST_COHERENCE = 0.7
/** Bins averaged to either side for the size. */
const SMOOTH = 1

/**
 * What lies between the unfiltered and the filtered gyro. Both are differenced first, which leaves what lies between
 * them alone and keeps their strong slow movements from leaking. The delay is the slope of H1's phase up to 25 Hz. The
 * size is H2 = S_yy/|S_uy|: what folds at half the log's rate is stronger in the unfiltered gyro, and would make H1 too small
 * (Bendat & Piersol, ch. 9 [from memory]). Refuses where either is not logged, or there is too little in a row.
 */
export function filterEffect(
  signals: FlightSignals,
  axis: Axis,
  t0_s: number,
  t1_s: number,
): FilterEffect | Refused {
  const basis = { method: FILTER_METHOD }
  const part = flightPart(signals, t0_s, t1_s)
  const before = part.samples(`unfiltered.${axis}`)
  const after = part.samples(`gyro.${axis}`)
  if (!before || !after) return refused('The log holds no unfiltered gyro beside the filtered one.', basis)
  if (!(signals.rate_hz > 0)) return refused('The flight has no samples in this span.', basis)
  try {
    const { size, slow } = withScratch((scratch) =>
      bothSpectra(before, after, part.runs([`unfiltered.${axis}`, `gyro.${axis}`]), {
        rate_hz: signals.rate_hz,
        scratch,
      }),
    )
    const { phaseDelay } = closedLoop(upTo(slow, SLOW_HZ))
    return { kind: 'given', ...sizeOf(size), delay: { ...phaseDelay, ...basis } }
  } catch (error) {
    if (error instanceof Problem) return refused(error.message, basis)
    throw error
  }
}

/** Spectra for the filters' size, and those of means for their delay. */
function bothSpectra(
  before: Float32Array,
  after: Float32Array,
  runs: readonly Run[],
  { rate_hz, scratch }: { rate_hz: number; scratch: Scratch },
): { readonly size: CrossSpectra; readonly slow: CrossSpectra } {
  // A step from a NaN is one, too.
  const steps = runs.map(({ start, end }): Run => {
    const whole = start === 0 || Number.isFinite(before[start - 1]! + after[start - 1]!)
    return { start: whole ? start : start + 1, end }
  })
  const size = spectraOf(before, after, rate_hz, { runs: steps, ofSteps: true }, SIZE_SEGMENT_S)
  // Means of both leave what lies between them alone, and far fewer samples.
  const factor = Math.max(1, Math.floor(rate_hz / DELAY_RATE_HZ))
  const slow = spectraOf(
    meanSteps(before, factor, scratch),
    meanSteps(after, factor, scratch),
    rate_hz / factor,
    { runs: runsOfMeans(steps, factor) },
    DELAY_SEGMENT_S,
  )
  return { size, slow }
}

function spectraOf(
  u: ArrayLike<number>,
  y: ArrayLike<number>,
  rate_hz: number,
  where: Pick<CrossOptions, 'runs' | 'ofSteps'>,
  segment_s: number,
): CrossSpectra {
  const segment = 2 ** Math.round(Math.log2(segment_s * rate_hz))
  return crossSpectra(u, y, { rate_hz, segment, ...where, single: true })
}

/** Means of `factor` steps each, the steps in 32 bits as the size's are; the first of them is 0. */
function meanSteps(values: Float32Array, factor: number, { doubles }: Scratch): Float64Array {
  const means = doubles(Math.floor(values.length / factor))
  inStretches(means.length, (from, to) => {
    if (factor === 4) putMeansOfFourSteps(values, means, from, to)
    else putMeanSteps(values, factor, means, from, to)
  })
  return means
}

function putMeanSteps(
  values: Float32Array,
  factor: number,
  means: Float64Array,
  from: number,
  to: number,
): void {
  let before = values[Math.max(0, from * factor - 1)]!
  for (let n = from; n < to; n++) {
    let sum = 0
    const end = (n + 1) * factor
    for (let k = n * factor; k < end; k++) {
      const value = values[k]!
      sum += Math.fround(value - before)
      before = value
    }
    means[n] = sum / factor
  }
}

/** From 2 kHz to 500 Hz, written out: an inner loop costs more than its four steps. */
function putMeansOfFourSteps(values: Float32Array, means: Float64Array, from: number, to: number): void {
  let before = values[Math.max(0, 4 * from - 1)]!
  let k = 4 * from
  for (let n = from; n < to; n++) {
    const a = values[k]!
    const b = values[k + 1]!
    const c = values[k + 2]!
    const d = values[k + 3]!
    means[n] = (Math.fround(a - before) + Math.fround(b - a) + Math.fround(c - b) + Math.fround(d - c)) / 4
    before = d
    k += 4
  }
}

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

function sizeOf(
  spectra: CrossSpectra,
): Pick<FilterEffect, 'f_hz' | 'size_db' | 'coherence' | 'trusted' | 'corner'> {
  const { f_hz, averages, segments, segmentLength } = spectra
  const smooth = (values: Float64Array) => sumsAround(values, SMOOTH, 1)
  const over = {
    ...spectra,
    uu: smooth(spectra.uu),
    yy: smooth(spectra.yy),
    uyRe: smooth(spectra.uyRe),
    uyIm: smooth(spectra.uyIm),
  }
  const g2 = coherence(over)
  const size = f_hz.map((_, k) => over.yy[k]! / Math.max(1e-30, Math.hypot(over.uyRe[k]!, over.uyIm[k]!)))
  const basis: Basis = {
    method: FILTER_METHOD,
    segments,
    samples: segments * segmentLength,
    cautions: [],
    exclusions: [],
  }
  return {
    f_hz,
    size_db: size.map((value) => 20 * Math.log10(Math.max(1e-6, value))),
    coherence: g2,
    trusted: Uint8Array.from(g2, (value) => (value >= LEAST_COHERENCE ? 1 : 0)),
    corner: cornerOf(f_hz, size, g2, averages * (2 * SMOOTH + 1), basis),
  }
}

/** First fall through -3 dB, read only as long as the gyros go together; the interval from the size's own error. */
function cornerOf(
  f_hz: Float64Array,
  size: Float64Array,
  g2: Float64Array,
  averages: number,
  basis: Basis,
): Result<number> {
  const crossing = (deviations: number): number | null => {
    const at = (k: number) => size[k]! * (1 + deviations * h1RelativeError(g2[k]!, averages))
    for (let k = 2; k < size.length; k++) {
      if (g2[k]! < LEAST_COHERENCE) return null
      if (at(k - 1) < Math.SQRT1_2 || at(k) >= Math.SQRT1_2) continue
      return f_hz[k - 1]! + ((at(k - 1) - Math.SQRT1_2) / (at(k - 1) - at(k))) * (f_hz[k]! - f_hz[k - 1]!)
    }
    return null
  }
  const value = crossing(0)
  if (value === null) {
    const last = g2.findIndex((one, k) => k > 1 && one < LEAST_COHERENCE)
    return refused(
      last < 0
        ? 'The filters take less than 3 dB up to half the log’s rate.'
        : `Above ${f_hz[last]!.toFixed(0)} Hz the two gyros no longer go together: what folds at half the log’s rate covers it.`,
      basis,
    )
  }
  const low = crossing(-1.96)
  const high = crossing(1.96)
  return given(
    value,
    'Hz',
    basis,
    low === null || high === null ? null : { low, high, coverage: 0.95, covers: 'sampling error only' },
  )
}
