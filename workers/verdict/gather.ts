import type { Axis } from '../flight/axes.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { median } from '../statistics/moments.ts'
import { LIMITED_SHARE, limitedShare, type Measurable } from './answers.ts'
import type { Answer, MeasureKey } from './comparison.ts'
import type { Covariance, Observation } from './covariance.ts'
import type { Evidence } from './judge.ts'
import type { MeasureId } from './measures.ts'
import { commonBands } from './noise-bands.ts'
import { areUneven, type Match } from './pairs.ts'
import type { Floor } from './repeat.ts'

/** A flight with what it answered. */
export interface Side {
  readonly flight: Measurable
  readonly answers: Readonly<Record<string, Answer>>
}

export interface Sides {
  readonly a: Side
  readonly b: Side
}

/** What is asked of the evidence, with what was declared before looking. */
export interface Asked {
  readonly key: MeasureKey
  readonly id: MeasureId
  readonly axis: Axis | null
  readonly headline: boolean
  readonly delta: number
  readonly floor: Floor | null
}

/** Every manoeuvre of a flight that shows a measure. */
export function observations({ flight, answers }: Side, key: MeasureKey, side: 'a' | 'b'): Observation[] {
  return flight.manoeuvres.flatMap((manoeuvre) => {
    const value = answers[manoeuvre.id]!.values[key]
    return value === undefined ? [] : [{ flight: side, manoeuvre, value }]
  })
}

/** What the pairs, and for the second opinion all manoeuvres, say of one measure on one axis. */
export function evidenceOf(
  { key, id, axis, ...declared }: Asked,
  sides: Sides,
  matches: readonly Match[],
  model: Covariance | null,
): Evidence {
  const used: Match[] = []
  const own: number[] = []
  const other: number[] = []
  const differences: number[] = []
  const adjustments: number[] = []
  for (const match of matches) {
    const { a, b } = match
    const x = sides.a.answers[a.id]!.values[key]
    const y = sides.b.answers[b.id]!.values[key]
    if (x === undefined || y === undefined) continue
    used.push(match)
    own.push(x)
    other.push(y)
    const difference = adjustedDifference(x, y, a, b, model)
    differences.push(difference)
    adjustments.push(y - x - difference)
  }
  const countA = observations(sides.a, key, 'a').length
  const countB = observations(sides.b, key, 'b').length
  return {
    id,
    axis,
    a: own.length > 0 ? median(own) : null,
    b: other.length > 0 ? median(other) : null,
    differences,
    adjustment: adjustments.length > 0 ? median(adjustments) : 0,
    uneven: areUneven(used),
    secondOpinion: model && { effect: model.effect, low: model.low, high: model.high },
    ...declared,
    cautions: [],
    whole: null,
    refusal: differences.length > 0 ? null : whyNothing(id, sides, axis, countA, countB),
  }
}

/** B - A of two manoeuvres less what their different flying explains. */
export function adjustedDifference(
  x: number,
  y: number,
  a: Manoeuvre,
  b: Manoeuvre,
  model: Covariance | null,
): number {
  return y - x - (model ? model.explained(a, b) : 0)
}

function whyNothing(id: MeasureId, sides: Sides, axis: Axis | null, countA: number, countB: number): string {
  for (const [name, side] of [
    ['A', sides.a],
    ['B', sides.b],
  ] as const) {
    const { even } = side.flight
    if (axis && !even.gyro[axis]) return `The log of ${name} holds no gyro for ${axis}.`
    if (axis && !even.setpoint[axis]) return `The log of ${name} holds no setpoint for ${axis}.`
    if (!axis && !even.atTop) return `The log of ${name} holds no motors.`
  }
  const slow_hz = Math.min(sides.a.flight.signals.rate_hz, sides.b.flight.signals.rate_hz)
  const bands = commonBands(slow_hz, slow_hz)
  if ((id === 'noiseLow' && !bands.low_hz) || (id === 'noiseHigh' && !bands.high_hz))
    return `A log of ${slow_hz.toFixed(0)} Hz is too slow to show this band.`
  const limited = (side: Side) =>
    axis !== null &&
    side.flight.manoeuvres.some(
      (one) => one.axis === axis && (limitedShare(side.flight.even, one) ?? 0) > LIMITED_SHARE,
    )
  if (limited(sides.a) || limited(sides.b))
    return 'Motors stood at their limit: this would tell of power left, not of tuning.'
  if (countA === 0 && countB === 0) return 'Neither flight has a manoeuvre that shows it.'
  if (countA === 0 || countB === 0)
    return `Flight ${countA === 0 ? 'A' : 'B'} has no manoeuvre that shows it.`
  return 'No two manoeuvres of the flights were flown alike.'
}
