/** Figures of a step response that goes from 0 to 1; each is null where the response never gets there. */
export interface StepFigures {
  /** From 10 % to 90 % of the step. */
  readonly rise_s: number | null
  /** From the step to the first passing of its full size. */
  readonly fullRise_s: number | null
  readonly half_s: number | null
  readonly peak_s: number
  readonly overshoot_percent: number
  /** Measured last entry into the band round the step's size. */
  readonly settle2_s: number | null
  readonly settle5_s: number | null
  readonly final: number
}

/** Measures a unit step response sampled at `rate_hz` from time 0; times are interpolated between samples. */
export function stepFigures(response: Float64Array, rate_hz: number): StepFigures {
  let peakAt = 0
  for (let index = 1; index < response.length; index++)
    if (response[index]! > response[peakAt]!) peakAt = index
  const t10 = firstPassing(response, 0.1)
  const t90 = firstPassing(response, 0.9)
  const whole = firstPassing(response, 1)
  const half = firstPassing(response, 0.5)
  const seconds = (samples: number | null) => (samples === null ? null : samples / rate_hz)
  return {
    rise_s: t10 === null || t90 === null ? null : (t90 - t10) / rate_hz,
    fullRise_s: seconds(whole),
    half_s: seconds(half),
    peak_s: peakAt / rate_hz,
    overshoot_percent: Math.max(0, response[peakAt]! - 1) * 100,
    settle2_s: seconds(lastEntry(response, 0.02)),
    settle5_s: seconds(lastEntry(response, 0.05)),
    final: response[response.length - 1] ?? Number.NaN,
  }
}

function firstPassing(response: Float64Array, level: number): number | null {
  for (let index = 1; index < response.length; index++) {
    const before = response[index - 1]!
    const after = response[index]!
    if (before < level && after >= level) return index - 1 + (level - before) / (after - before)
  }
  return null
}

function lastEntry(response: Float64Array, band: number): number | null {
  let last = response.length - 1
  if (last < 0 || Math.abs(response[last]! - 1) > band) return null
  while (last > 0 && Math.abs(response[last - 1]! - 1) <= band) last--
  if (last === 0) return 0
  const outside = response[last - 1]!
  const edge = outside > 1 ? 1 + band : 1 - band
  return last - 1 + (edge - outside) / (response[last]! - outside)
}
