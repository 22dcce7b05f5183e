import { coherence, coherenceThreshold, h1RelativeError, type CrossSpectra } from '../signal/cross-spectra.ts'
import { given, refused, type Basis, type Result } from '../signal/result.ts'
import { sumsAround } from '../signal/arithmetic.ts'
import { lastCoherent_hz } from './transfer-step.ts'

/** The loop from setpoint to gyro over frequency. */
export interface ClosedLoop {
  readonly f_hz: Float64Array
  readonly magnitude_db: Float64Array
  /** Unwrapped from the lowest frequency on. */
  readonly phase_deg: Float64Array
  readonly coherence: Float64Array
  /** 95 % of coherences of unrelated series lie below. */
  readonly threshold: number
  /** Relative standard error of the magnitude, sampling error only. */
  readonly relativeError: Float64Array
  /** 1 where the coherence is above the threshold: draw the rest grey. */
  readonly coherent: Uint8Array
  readonly lastCoherent_hz: number
  /** Where the magnitude first falls to -3 dB. */
  readonly bandwidth: Result<number>
  /** Highest magnitude above 0 dB, and where. */
  readonly resonance_db: Result<number>
  readonly resonance_hz: Result<number>
  /** Delay of slow movements: the phase's slope, weighted by its certainty. */
  readonly phaseDelay: Result<number>
}

export const CLOSED_LOOP_METHOD = { id: 'closed-loop', version: 1 }

/** Neighbouring bins that are averaged with each for the figures. */
const SMOOTH = 1

/**
 * Closed-loop response by H1 = S_uy / S_uu, averaged with one bin to either side. The figures are read where the
 * coherence is above its threshold, and refused where they would lie beyond.
 */
export function closedLoop(spectra: CrossSpectra): ClosedLoop {
  const smooth = smoothed(spectra)
  const last_hz = lastCoherent_hz(spectra)
  const g2 = coherence(smooth)
  const averages = spectra.averages
  const threshold = coherenceThreshold(averages)
  const { f_hz } = smooth
  const magnitude = f_hz.map((_, k) =>
    smooth.uu[k]! > 0 ? Math.hypot(smooth.uyRe[k]!, smooth.uyIm[k]!) / smooth.uu[k]! : 0,
  )
  const phase_deg = unwrapped(f_hz.map((_, k) => Math.atan2(smooth.uyIm[k]!, smooth.uyRe[k]!))).map(
    (phase) => (phase * 180) / Math.PI,
  )
  const relativeError = g2.map((value) => h1RelativeError(value, averages))
  const basis = {
    method: CLOSED_LOOP_METHOD,
    segments: spectra.segments,
    samples: spectra.segments * spectra.segmentLength,
  }
  const top = f_hz.findLastIndex((f) => f <= last_hz)
  const view: View = { f_hz, magnitude, relativeError, top, last_hz, basis }
  return {
    f_hz,
    magnitude_db: magnitude.map((value) => 20 * Math.log10(Math.max(value, 1e-6))),
    phase_deg,
    coherence: g2,
    threshold,
    relativeError,
    coherent: Uint8Array.from(g2, (value) => (value > threshold ? 1 : 0)),
    lastCoherent_hz: last_hz,
    bandwidth: bandwidthOf(view),
    ...resonanceOf(view),
    phaseDelay: phaseDelayOf(view, phase_deg, g2, averages),
  }
}

interface View {
  readonly f_hz: Float64Array
  readonly magnitude: Float64Array
  readonly relativeError: Float64Array
  /** Last coherent bin. */
  readonly top: number
  readonly last_hz: number
  readonly basis: Pick<Basis, 'method' | 'segments' | 'samples'>
}

function smoothed(spectra: CrossSpectra): CrossSpectra {
  const over = (values: Float64Array) => sumsAround(values, SMOOTH)
  return {
    ...spectra,
    uu: over(spectra.uu),
    yy: over(spectra.yy),
    uyRe: over(spectra.uyRe),
    uyIm: over(spectra.uyIm),
  }
}

/** Takes jumps of whole turns out. */
function unwrapped(phase: Float64Array): Float64Array {
  let turns = 0
  return phase.map((value, k) => {
    if (k > 0) turns -= Math.round((value - phase[k - 1]!) / (2 * Math.PI))
    return value + 2 * Math.PI * turns
  })
}

const HALF_POWER = Math.SQRT1_2

/** First bin from which the magnitude, times `factor`, falls through -3 dB, straight between bins; null if none. */
function crossing({ f_hz, magnitude, relativeError, top }: View, deviations: number): number | null {
  const at = (k: number) => magnitude[k]! * (1 + deviations * relativeError[k]!)
  for (let k = 2; k <= top; k++) {
    if (at(k - 1) >= HALF_POWER && at(k) < HALF_POWER) {
      const share = (at(k - 1) - HALF_POWER) / (at(k - 1) - at(k))
      return f_hz[k - 1]! + share * (f_hz[k]! - f_hz[k - 1]!)
    }
  }
  return null
}

function bandwidthOf(view: View): Result<number> {
  const value = crossing(view, 0)
  if (value === null) {
    return refused(
      `The response has not fallen by 3 dB up to ${view.last_hz.toFixed(0)} Hz, where coherence ends.`,
      view.basis,
    )
  }
  return given(value, 'Hz', view.basis, {
    low: crossing(view, -1.96) ?? 0,
    high: crossing(view, 1.96) ?? view.last_hz,
    coverage: 0.95,
    covers: 'sampling error only',
  })
}

function resonanceOf(view: View): Pick<ClosedLoop, 'resonance_db' | 'resonance_hz'> {
  const { magnitude, f_hz, top, relativeError, basis } = view
  let peak = 1
  for (let k = 1; k <= top; k++) if (magnitude[k]! > magnitude[peak]!) peak = k
  const level = 20 * Math.log10(magnitude[peak] ?? 0)
  if (!(top > 1) || !(level > 0)) {
    const none = refused('The response nowhere rises above the setpoint.', basis)
    return { resonance_db: none, resonance_hz: none }
  }
  const spread = 1.96 * relativeError[peak]!
  return {
    resonance_db: given(level, 'dB', basis, {
      low: level + 20 * Math.log10(Math.max(1e-6, 1 - spread)),
      high: level + 20 * Math.log10(1 + spread),
      coverage: 0.95,
      covers: 'sampling error only',
    }),
    resonance_hz: given(f_hz[peak]!, 'Hz', basis),
  }
}

/** Least squares of phase = -2 pi f d through the origin up to the last coherent bin, weight 1/variance of the phase. */
function phaseDelayOf(
  view: View,
  phase_deg: Float64Array,
  g2: Float64Array,
  averages: number,
): Result<number> {
  const { f_hz, top, basis } = view
  let product = 0
  let squares = 0
  for (let k = 1; k <= top; k++) {
    if (!(g2[k]! > coherenceThreshold(averages))) continue
    const weight = (2 * averages * g2[k]!) / Math.max(1e-9, 1 - g2[k]!)
    const w = 2 * Math.PI * f_hz[k]!
    product -= weight * w * ((phase_deg[k]! * Math.PI) / 180)
    squares += weight * w * w
  }
  if (!(squares > 0)) return refused('No frequency at which setpoint and gyro go together.', basis)
  // Neighbouring bins of a Hann window, and the three averaged here, share their noise.
  const error = Math.sqrt((1.5 * (2 * SMOOTH + 1)) / squares)
  return given((1000 * product) / squares, 'ms', basis, {
    low: 1000 * (product / squares - 1.96 * error),
    high: 1000 * (product / squares + 1.96 * error),
    coverage: 0.95,
    covers: 'sampling error only',
  })
}
