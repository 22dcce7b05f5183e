/**
 * Figures of a step response, each as measured on the curve. A figure that the curve never reaches is null.
 * The step's size is 1 and it happens at time 0; times count from there, so a delay is part of them.
 */
export interface StepFigures {
  /** From 10 % to 90 % of the step's size. */
  readonly rise_s: number | null
  /** Until the size is first passed (0-100 % rise). */
  readonly fullRise_s: number | null
  /** Until half the size: what delay and rise together cost. */
  readonly half_s: number | null
  /** Until the highest point. Null where the curve is still rising at its end. */
  readonly peak_s: number | null
  /** How far the highest point passes the size, in per cent of it; 0 when it does not. */
  readonly overshoot_percent: number
  /** Last entry into the 2 % and the 5 % band around the size, measured; the envelope 4/(zeta wn) is another thing. */
  readonly settle2_s: number | null
  readonly settle5_s: number | null
}

/** Measures a curve that starts at t0_s (at or before the step) and has a value every 1/rate_hz. */
export function stepFigures(curve: Float64Array, rate_hz: number, t0_s = 0): StepFigures {
  const time = (index: number | null) => (index === null ? null : t0_s + index / rate_hz)
  const start = Math.max(0, Math.round(-t0_s * rate_hz))
  let peak = start
  for (let n = start; n < curve.length; n++) if (curve[n]! > curve[peak]!) peak = n
  const low = firstPassing(curve, 0.1, start)
  const high = firstPassing(curve, 0.9, start)
  const peakIsInside = peak > start && peak < curve.length - 1
  const top = peakIsInside ? summit(curve, peak) : { index: peak, value: curve[peak]! }
  return {
    rise_s: low === null || high === null ? null : (high - low) / rate_hz,
    fullRise_s: time(firstPassing(curve, 1, start)),
    half_s: time(firstPassing(curve, 0.5, start)),
    peak_s: peakIsInside ? time(top.index) : null,
    overshoot_percent: Math.max(0, top.value - 1) * 100,
    settle2_s: time(lastEntry(curve, 0.02, start)),
    settle5_s: time(lastEntry(curve, 0.05, start)),
  }
}

/** Highest point of the parabola through the peak and its neighbours. */
function summit(curve: Float64Array, peak: number): { index: number; value: number } {
  const before = curve[peak - 1]!
  const at = curve[peak]!
  const after = curve[peak + 1]!
  const bend = before - 2 * at + after
  if (!(bend < 0)) return { index: peak, value: at }
  const shift = (0.5 * (before - after)) / bend
  return { index: peak + shift, value: at - 0.25 * (before - after) * shift }
}

function firstPassing(curve: Float64Array, level: number, start: number): number | null {
  for (let n = start + 1; n < curve.length; n++) {
    const before = curve[n - 1]!
    const after = curve[n]!
    if (before < level && after >= level) return n - 1 + (level - before) / (after - before)
  }
  return null
}

function lastEntry(curve: Float64Array, band: number, start: number): number | null {
  let last = curve.length - 1
  if (last < start || !(Math.abs(curve[last]! - 1) <= band)) return null
  while (last > start && Math.abs(curve[last - 1]! - 1) <= band) last--
  if (last === start) return start
  const outside = curve[last - 1]!
  const edge = outside > 1 ? 1 + band : 1 - band
  return last - 1 + (edge - outside) / (curve[last]! - outside)
}
