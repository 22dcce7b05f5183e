import { given, refused, type Basis, type Result } from '../signal/result.ts'
import { jackknifeError, studentQuantile } from '../signal/student.ts'
import { stepFigures, type StepFigures } from './step-figures.ts'
import { BEFORE_S } from './transfer-step.ts'

export type StepFigureName = keyof StepFigures

/** Unit and size of each figure, and by how much estimators may differ on it and still agree (our own limits). */
const FIGURES: Readonly<
  Record<StepFigureName, { unit: string; scale: number; tolerance: (value: number) => number }>
> = {
  rise_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(2, 0.1 * value) },
  fullRise_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(2, 0.1 * value) },
  half_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(2, 0.1 * value) },
  peak_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(3, 0.15 * value) },
  overshoot_percent: { unit: '%', scale: 1, tolerance: () => 3 },
  settle2_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(5, 0.2 * value) },
  settle5_s: { unit: 'ms', scale: 1000, tolerance: (value) => Math.max(5, 0.2 * value) },
}

/**
 * Figures of a step response with their intervals. `curves`: (a) completed, (b) completed, (c). A figure is given plainly
 * when (b) or (c) agrees with (a) on it. Its interval adds the jackknife, the nearest companion's distance, what a share
 * `trust` of the part supplied by the fit alone does to it, and a sample. Refused where a curve does not get there or the
 * interval is as wide as the figure.
 */
export function figuresOf(
  curves: readonly [Float64Array, Float64Array, Float64Array],
  supplied: Float64Array,
  replicates: readonly Float64Array[],
  rate_hz: number,
  basis: Basis,
  trust: number,
): Record<StepFigureName, Result<number>> {
  const measured = curves.map((curve) => stepFigures(curve, rate_hz, -BEFORE_S))
  const repeated = replicates.map((curve) => stepFigures(curve, rate_hz, -BEFORE_S))
  const onTrust = [-trust, trust].map((share) =>
    stepFigures(
      curves[0].map((value, n) => value + share * supplied[n]!),
      rate_hz,
      -BEFORE_S,
    ),
  )
  const t = studentQuantile(0.975, Math.max(3, replicates.length - 1))
  const one = (name: StepFigureName): Result<number> => {
    const { unit, scale, tolerance } = FIGURES[name]
    const value = measured[0]![name]
    const again = repeated.map((figures) => figures[name]).filter((figure) => figure !== null)
    if (value === null || again.length < replicates.length) {
      return refused('The curve, within its band, does not get there in the time shown.', basis)
    }
    const others = measured.slice(1).map((figures) => figures[name])
    const allowed = tolerance(value * scale)
    const near = (a: number | null, b: number | null) =>
      a !== null && b !== null && Math.abs(a - b) * scale <= allowed
    const agree = near(value, others[0]!) || near(value, others[1]!)
    const differences = others.filter((other) => other !== null).map((other) => Math.abs(other - value))
    // The nearest companion measures the bias that is left; with none near, the farthest does.
    const bias = (agree ? Math.min(...differences) : Math.max(...differences, allowed / scale)) * scale
    const trusted = Math.max(...onTrust.map((figures) => Math.abs((figures[name] ?? Infinity) - value)))
    if (trusted === Infinity) return refused('Too much of this figure rests on the fit alone.', basis)
    // No time is known better than to a sample.
    const grain = unit === 'ms' ? scale / rate_hz : 0
    const half = Math.hypot(t * jackknifeError(again) * scale, bias, trusted * scale, grain)
    if (half > Math.max(value * scale, 5)) {
      return refused('The estimators leave this figure too wide a range to be worth a number.', basis)
    }
    const cautions = agree
      ? basis.cautions
      : [...basis.cautions, 'The estimators do not agree on this figure: take it as rough.']
    return given(
      value * scale,
      unit,
      { ...basis, cautions },
      {
        low: value * scale - half,
        high: value * scale + half,
        coverage: 0.95,
        covers: 'sampling error and estimated bias',
      },
    )
  }
  return {
    rise_s: one('rise_s'),
    fullRise_s: one('fullRise_s'),
    half_s: one('half_s'),
    peak_s: one('peak_s'),
    overshoot_percent: one('overshoot_percent'),
    settle2_s: one('settle2_s'),
    settle5_s: one('settle5_s'),
  }
}
