import { coherence, coherenceThreshold, crossSpectra } from '../signal/cross-spectra.ts'
import { nextPowerOfTwo } from '../signal/fft.ts'
import { given, refused, type Result } from '../signal/result.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import { runsBetween, runsOf, runsWithout, type Run } from '../signal/segments.ts'
import type { Lag } from './lag.ts'
import type { ResponseSeries } from './response-series.ts'
import { slowFactor, slowSeries } from './slow-series.ts'

export const LAG_CHECK_METHOD = { id: 'lag-phase-slope', version: 1 }

const SEGMENT_S = 2
/** Phases that lie this far off the straight line, in root mean square, are no pure delay's (our own limit). */
const BENT_RAD = 0.15

/**
 * Second opinion on a lag: the gyro is first moved back by whole samples of the lag found, then the slope of the phase that
 * is left is fitted through the origin over the coherent frequencies, each weighted by its certainty. For a pure delay both
 * agree and the phase runs straight; where not, the response is more than a delay, and a caution says so. Value in ms.
 */
export function phaseSlopeLag(series: ResponseSeries, found: Lag): Result<number> {
  return withScratch((scratch) => phaseSlope(series, found, scratch))
}

function phaseSlope(series: ResponseSeries, found: Lag, scratch: Scratch): Result<number> {
  const { setpoint: u, gyro: y, breaks, runs: own } = slowSeries(series)
  const factor = slowFactor(series.rate_hz)
  const rate_hz = series.rate_hz / factor
  const whole = Math.round(found.lag_s * rate_hz)
  const aligned = scratch.doubles(y.length).fill(NaN)
  aligned.set(whole >= 0 ? y.subarray(whole) : y.subarray(0, whole), Math.max(0, -whole))
  const segment = nextPowerOfTwo(Math.round(SEGMENT_S * rate_hz * 0.75))
  const basis = { method: LAG_CHECK_METHOD, samples: u.length * factor }
  // A break of the gyro stands `whole` samples earlier in the aligned series.
  const shifted = breaks.map((index) => index - whole).filter((index) => index > 0)
  const apart = [...breaks, ...shifted]
  const isWhole = own.reduce((sum, { start, end }) => sum + end - start, 0) === u.length
  // Without NaN only the ends are missing, to where the gyro was moved from.
  const ends: Run[] = [
    { start: 0, end: Math.max(0, -whole) },
    { start: y.length - Math.max(0, whole), end: y.length },
  ]
  const runs = isWhole ? runsWithout(runsBetween(u.length, apart), ends) : runsOf([u, aligned], apart)
  if (runs.every(({ start, end }) => end - start < 4 * segment)) {
    return refused('There is too little flight in a row to check the lag by its phase.', basis)
  }
  const spectra = crossSpectra(u, aligned, { rate_hz, segment, runs, single: true })
  const g2 = coherence(spectra)
  const threshold = coherenceThreshold(spectra.averages)
  let product = 0
  let squares = 0
  const used: { weight: number; w: number; phase: number }[] = []
  for (let k = 1; k < g2.length; k++) {
    if (!(g2[k]! > threshold)) continue
    const phase = Math.atan2(spectra.uyIm[k]!, spectra.uyRe[k]!)
    // Beyond a third of a turn the phase may have come round: what coheres there by chance must not count.
    if (Math.abs(phase) > (2 * Math.PI) / 3) continue
    const weight = (2 * spectra.averages * g2[k]!) / Math.max(1e-3, 1 - g2[k]!)
    const w = 2 * Math.PI * spectra.f_hz[k]!
    product -= weight * w * phase
    squares += weight * w * w
    used.push({ weight, w, phase })
  }
  if (!(squares > 0)) return refused('Setpoint and gyro go together at no frequency.', basis)
  const lag_ms = 1000 * (whole / rate_hz + product / squares)
  // Neighbouring bins of a Hann window share their noise.
  const error_ms = 1000 * Math.sqrt(1.5 / squares)
  const slope = product / squares
  const allWeight = used.reduce((sum, { weight }) => sum + weight, 0)
  const bend_rad = Math.sqrt(
    used.reduce((sum, { weight, w, phase }) => sum + weight * (phase + w * slope) ** 2, 0) / allWeight,
  )
  const differs = bend_rad > BENT_RAD || Math.abs(lag_ms - 1000 * found.lag_s) > Math.max(2, 3 * error_ms)
  const cautions = differs ? ['The phase is not that of a delay alone: shape and delay mix in the lag.'] : []
  return given(
    lag_ms,
    'ms',
    { ...basis, segments: spectra.segments, cautions },
    {
      low: lag_ms - 1.96 * error_ms,
      high: lag_ms + 1.96 * error_ms,
      coverage: 0.95,
      covers: 'sampling error only',
    },
  )
}
