import type { FlightSignals } from '../flight/signals.ts'
import { detectManoeuvres } from '../manoeuvre/detect.ts'
import type { ManoeuvreEdit } from '../manoeuvre/manoeuvre.ts'
import { hodgesLehmann } from '../statistics/signed-ranks.ts'
import { median } from '../statistics/moments.ts'
import { measurable, measureAnswers } from '../verdict/answers.ts'
import type { MeasureKey } from '../verdict/comparison.ts'
import { evenFlight } from '../verdict/even-flight.ts'
import { commonBands } from '../verdict/noise-bands.ts'

/** One measure of one flight by itself. */
export interface FlightFigure {
  /** Centre of the manoeuvres' values: Hodges and Lehmann's estimate. */
  readonly value: number
  /** 95 % interval of that centre over the manoeuvres; null with fewer than six, which can't give one. */
  readonly interval: { readonly low: number; readonly high: number } | null
  /** Manoeuvres that show it. */
  readonly count: number
}

export interface FlightFigures {
  readonly figures: Readonly<Partial<Record<MeasureKey, FlightFigure>>>
  /** How hard it was flown: median of the manoeuvres' peak setpoint rates, deg/s; null without any. */
  readonly peak_dps: number | null
  /** Mean battery voltage; null when not logged. */
  readonly voltage_V: number | null
}

/** Fewer values can't give a 95 % interval: 2 / 2^5 = .0625. */
const FEWEST = 6
/** More values than this are thinned evenly: the estimate goes over all pairs. */
const MOST = 600

/**
 * Every measure that comes manoeuvre by manoeuvre, for one flight by itself. Nothing is paired: where flights were flown
 * differently these differ with no change of tune, which the verdict would take off. `slowest_hz` is the rate of the slowest flight
 * that is looked at, so that noise is told in the same band for all. NaN never comes out; what can't be given is missing.
 */
export function figuresOfFlight(
  signals: FlightSignals,
  slowest_hz: number,
  edits: readonly ManoeuvreEdit[] = [],
): FlightFigures {
  const manoeuvres = detectManoeuvres(signals, { edits })
  const flight = measurable(signals, evenFlight(signals), manoeuvres)
  const values = new Map<MeasureKey, number[]>()
  for (const answer of Object.values(measureAnswers(flight, commonBands(slowest_hz, slowest_hz))))
    for (const [key, value] of Object.entries(answer.values) as [MeasureKey, number][])
      if (Number.isFinite(value)) values.set(key, [...(values.get(key) ?? []), value])
  const peaks = manoeuvres.flatMap(({ inputs }) => inputs.peak_dps ?? [])
  return {
    figures: Object.fromEntries([...values].map(([key, all]) => [key, figureOf(all)])),
    peak_dps: peaks.length > 0 ? median(peaks) : null,
    voltage_V: meanOf(signals.channels.battery),
  }
}

/** Centre and interval of values, at least one. */
export function figureOf(values: readonly number[]): FlightFigure {
  const step = Math.max(1, Math.ceil(values.length / MOST))
  const { effect, low, high } = hodgesLehmann(
    values.filter((_, at) => at % step === 0),
    0.95,
  )
  return { value: effect, interval: values.length >= FEWEST ? { low, high } : null, count: values.length }
}

function meanOf(samples: Float32Array | undefined): number | null {
  let sum = 0
  let count = 0
  for (const sample of samples ?? []) {
    if (!Number.isFinite(sample)) continue
    sum += sample
    count++
  }
  return count > 0 ? sum / count : null
}
