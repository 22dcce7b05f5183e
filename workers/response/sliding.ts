import { decimated } from '../signal/decimate.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import { lag } from './lag.ts'
import { sumsOfErrors } from './tracking.ts'
import { slowFactor, slowSeries } from './slow-series.ts'
import type { ResponseSeries } from './step-response.ts'

/** Tracking error in windows that slide over the flight, for plots. */
export interface TrackingTrace {
  /** Middles of the windows, from the first sample. */
  readonly t_s: Float64Array
  /** NaN where fewer than half of the window's samples have both values. */
  readonly rms_dps: Float64Array
  /** Mean of setpoint - gyro. */
  readonly bias_dps: Float64Array
}

export interface SlidingOptions {
  readonly window_s: number
  readonly hop_s: number
}

interface Windows {
  readonly size: number
  readonly hop: number
  readonly count: number
}

function windowsOf(length: number, rate_hz: number, { window_s, hop_s }: SlidingOptions): Windows {
  const size = Math.round(window_s * rate_hz)
  const hop = Math.max(1, Math.round(hop_s * rate_hz))
  if (!(size >= 1)) throw new Error(`window must hold at least one sample: ${window_s} s`)
  return { size, hop, count: length < size ? 0 : Math.floor((length - size) / hop) + 1 }
}

/** RMS and mean of setpoint - gyro per window, by running sums: the whole flight in one pass. */
export function trackingTrace(
  { setpoint, gyro, rate_hz }: ResponseSeries,
  options: SlidingOptions = { window_s: 1, hop_s: 0.25 },
): TrackingTrace {
  if (setpoint.length !== gyro.length) {
    throw new Error(`setpoint and gyro differ in length: ${setpoint.length} and ${gyro.length}`)
  }
  const { size, hop, count } = windowsOf(setpoint.length, rate_hz, options)
  // Sums per hop first: windows share them, and long running sums would lose digits.
  const cell = hop
  const cells = Math.ceil(setpoint.length / cell)
  const sums = new Float64Array(cells)
  const squares = new Float64Array(cells)
  const counts = new Float64Array(cells)
  for (let c = 0; c < cells; c++) {
    const end = Math.min(setpoint.length, (c + 1) * cell)
    const own = sumsOfErrors(setpoint, gyro, c * cell, end)
    sums[c] = own.sum
    squares[c] = own.squares
    counts[c] = own.n
  }
  const trace = {
    t_s: new Float64Array(count),
    rms_dps: new Float64Array(count).fill(NaN),
    bias_dps: new Float64Array(count).fill(NaN),
  }
  for (let k = 0; k < count; k++) {
    const start = k * hop
    const end = start + size
    let sum = 0
    let square = 0
    let found = 0
    const wholeCells = Math.floor(size / cell)
    for (let c = k; c < k + wholeCells; c++) {
      sum += sums[c]!
      square += squares[c]!
      found += counts[c]!
    }
    const rest = sumsOfErrors(setpoint, gyro, start + wholeCells * cell, end)
    sum += rest.sum
    square += rest.squares
    found += rest.n
    trace.t_s[k] = (start + size / 2) / rate_hz
    if (found < size / 2) continue
    trace.rms_dps[k] = Math.sqrt(square / found)
    trace.bias_dps[k] = sum / found
  }
  return trace
}

export interface LagTrace {
  readonly t_s: Float64Array
  /** NaN where the window gives none; see `lag` for when. */
  readonly lag_s: Float64Array
  readonly r: Float64Array
}

/** Lags are looked for on means at no less than this rate: windows are many, and a rate loop is slower than 100 Hz. */
const LAG_RATE_HZ = 250
/** As far as the error budget looks. */
const MOST_LAG_S = 0.15

/** Lag per window. Needs windows of some seconds: what is inside one must move. */
export function lagTrace(
  series: ResponseSeries,
  options: SlidingOptions = { window_s: 4, hop_s: 1 },
  isCancelled: () => boolean = () => false,
): LagTrace {
  return withScratch((scratch) => lagsOf(series, options, isCancelled, scratch))
}

function lagsOf(
  series: ResponseSeries,
  options: SlidingOptions,
  isCancelled: () => boolean,
  scratch: Scratch,
): LagTrace {
  const factor = Math.max(1, Math.floor(series.rate_hz / LAG_RATE_HZ))
  const rate_hz = series.rate_hz / factor
  const [u, y] = meansBy(factor, series, scratch)
  const { size, hop, count } = windowsOf(u.length, rate_hz, options)
  const trace = {
    t_s: Float64Array.from({ length: count }, (_, k) => (k * hop + size / 2) / rate_hz),
    lag_s: new Float64Array(count).fill(NaN),
    r: new Float64Array(count).fill(NaN),
  }
  for (let k = 0; k < count && !isCancelled(); k++) {
    const window = [u, y].map((values) => values.subarray(k * hop, k * hop + size)) as [
      Float64Array,
      Float64Array,
    ]
    const found = lag(...window, { rate_hz, maxLag_s: MOST_LAG_S, interval: false })
    if (found.kind === 'refused') continue
    trace.lag_s[k] = found.lag_s
    trace.r[k] = found.r
  }
  return trace
}

/** Means of `factor` samples: of the means at hand where they fit in. */
function meansBy(factor: number, series: ResponseSeries, { doubles }: Scratch): [Float64Array, Float64Array] {
  const before = slowFactor(series.rate_hz)
  const { setpoint, gyro } = factor % before === 0 ? slowSeries(series) : series
  const rest = factor % before === 0 ? factor / before : factor
  return [decimated(setpoint, rest, [], doubles).samples, decimated(gyro, rest, [], doubles).samples]
}
