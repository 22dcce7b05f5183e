import { AXES, type Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { Problem } from '../log/problems.ts'
import { detectManoeuvres } from '../manoeuvre/detect.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { benjaminiHochberg, holm } from '../statistics/adjust.ts'
import { median } from '../statistics/moments.ts'
import { LIMITED_SHARE, limitedShare, measurable, measureAnswers, type Measurable } from './answers.ts'
import { cautionsOf, exclusionsOf } from './cautions.ts'
import type {
  Answer,
  CompareOptions,
  Comparison,
  FlightInComparison,
  MeasureKey,
  MeasureVerdict,
  Pair,
  PairDifference,
} from './comparison.ts'
import { covariance, type Covariance, type Observation } from './covariance.ts'
import { evenFlight } from './even-flight.ts'
import { headroomShares } from './headroom-shares.ts'
import { draftOf, verdictOf, type Draft, type Evidence } from './judge.ts'
import { notCompared } from './likeness.ts'
import { MEASURE_IDS, VERDICT_MEASURES, type MeasureFacts, type MeasureId } from './measures.ts'
import { commonBands } from './noise-bands.ts'
import { areUneven, balanceTable, matchManoeuvres, type Match } from './pairs.ts'
import { readingOf } from './reading.ts'
import { stepEvidence, type StepEvidence } from './step-evidence.ts'
import { oneLine } from './one-line.ts'

export const COMPARISON_METHOD = { id: 'comparison', version: 2 }

/**
 * Compares two flights like for like: what B does differently from A to the same stick, with its uncertainty and the
 * word for it. Both in canonical units (see FlightSignals); what a log lacks is refused measure by measure with its
 * reason, nothing throws for it. `repeat` is another flight of A's very settings: what A and it differ by is the floor that a
 * difference must pass. Deterministic; swapping A and B mirrors every number.
 *
 * @throws Problem 'cancelled' when `isCancelled` says so.
 */
export function compareFlights(
  a: FlightSignals,
  b: FlightSignals,
  options: CompareOptions = {},
  repeat?: FlightSignals,
): Comparison {
  const progress = (share: number, doing: string) => {
    if (options.isCancelled?.()) throw new Problem('cancelled', 'The comparison was stopped.')
    options.onProgress?.(share, doing)
  }
  progress(0, 'Finding manoeuvres')
  const flightA = prepare(a, options, 'a')
  progress(0.15, 'Finding manoeuvres')
  const flightB = prepare(b, options, 'b')
  progress(0.3, 'Measuring answers')
  const bands = commonBands(a.rate_hz, b.rate_hz)
  const answersA = measureAnswers(flightA, bands)
  progress(0.45, 'Measuring answers')
  const answersB = measureAnswers(flightB, bands)
  progress(0.6, 'Estimating step responses')
  const steps = stepEvidence(flightA, flightB)
  progress(0.8, 'Pairing')
  const usableA = usable(flightA.manoeuvres, answersA)
  const usableB = usable(flightB.manoeuvres, answersB)
  const matching = matchManoeuvres(usableA, usableB)
  const floors = repeat ? floorsOf(flightA, answersA, prepare(repeat, {}, 'b'), bands) : null
  progress(0.85, 'Judging')
  const sides = { a: { flight: flightA, answers: answersA }, b: { flight: flightB, answers: answersB } }
  const judged = judge(sides, matching.matches, steps, options, floors)
  const pairs = matching.matches
    .map((match) => pairOf(match, answersA, answersB, judged.adjust, options))
    .sort((x, y) => y.size - x.size)
  const headroom = { a: headroomShares(flightA), b: headroomShares(flightB) }
  const result: Omit<Comparison, 'reading' | 'cautions' | 'verdict'> = {
    method: COMPARISON_METHOD,
    a: inComparison(flightA, answersA),
    b: inComparison(flightB, answersB),
    pairs,
    unmatched: matching.unmatched,
    balance: balanceTable(usableA, usableB, matching.matches),
    notCompared: notCompared(usableA, usableB),
    measures: judged.measures,
    exclusions: exclusionsOf(flightA, flightB, answersA, answersB),
    headroom,
    hasRepeat: repeat !== undefined,
  }
  progress(1, 'Done')
  return {
    ...result,
    verdict: oneLine(judged.measures),
    reading: readingOf(result),
    cautions: cautionsOf(result, flightA, flightB),
  }
}

function prepare(signals: FlightSignals, options: CompareOptions, side: 'a' | 'b'): Measurable {
  const edits = options.edits?.[side]
  const manoeuvres = detectManoeuvres(signals, edits ? { edits } : {})
  return measurable(signals, evenFlight(signals), manoeuvres)
}

const usable = (manoeuvres: readonly Manoeuvre[], answers: Readonly<Record<string, Answer>>) =>
  manoeuvres.filter(({ id }) => answers[id]!.reason === null)

const inComparison = (
  { manoeuvres }: Measurable,
  answers: Readonly<Record<string, Answer>>,
): FlightInComparison => ({ manoeuvres, answers })

interface Side {
  readonly flight: Measurable
  readonly answers: Readonly<Record<string, Answer>>
}

interface Judged {
  readonly measures: readonly MeasureVerdict[]
  readonly adjust: ReadonlyMap<MeasureKey, Covariance | null>
}

/** Evidence, test and word of every measure that either flight has anything on. */
function judge(
  sides: { readonly a: Side; readonly b: Side },
  matches: readonly Match[],
  steps: readonly StepEvidence[],
  options: CompareOptions,
  floors: ReadonlyMap<MeasureKey, number> | null,
): Judged {
  const adjust = new Map<MeasureKey, Covariance | null>()
  const drafts: Draft[] = []
  for (const axis of [...AXES, null]) {
    for (const id of MEASURE_IDS) {
      const facts: MeasureFacts = VERDICT_MEASURES[id]
      if ((facts.per === 'craft') !== (axis === null)) continue
      const key: MeasureKey = `${id}.${axis ?? 'craft'}`
      const delta = deltaOf(id, options)
      const floor = floors?.get(key) ?? null
      if (facts.from === 'flights') {
        const step = steps.find((one) => one.id === id && one.axis === axis)
        if (step) drafts.push(draftOf({ ...step, delta, floor }))
        continue
      }
      const model = covariance([...observations(sides.a, key, 'a'), ...observations(sides.b, key, 'b')])
      adjust.set(key, model)
      drafts.push(draftOf(evidenceOf(key, id, axis, sides, matches, model, delta, floor)))
    }
  }
  const adjusted = new Map<Draft, number>()
  for (const headline of [true, false]) {
    const tested = drafts.filter((draft) => draft.facts.headline === headline && isTested(draft))
    const adjustedP = (headline ? holm : benjaminiHochberg)(tested.map(({ p }) => p!))
    tested.forEach((draft, k) => adjusted.set(draft, adjustedP[k]!))
  }
  return { measures: drafts.map((draft) => verdictOf(draft, adjusted.get(draft) ?? null)), adjust }
}

/** Too few pairs are no test: they must not make the others pay for having looked. */
function isTested({ evidence, p }: Draft): boolean {
  return (
    p !== null && evidence.refusal === null && (evidence.whole !== null || evidence.differences.length >= 6)
  )
}

function deltaOf(id: MeasureId, options: CompareOptions): number {
  const chosen = options.deltas?.[id]
  if (chosen === undefined) return VERDICT_MEASURES[id].delta
  if (!(chosen > 0)) throw new Error(`the smallest difference that matters must be positive: ${id} ${chosen}`)
  return chosen
}

function observations({ flight, answers }: Side, key: MeasureKey, side: 'a' | 'b'): Observation[] {
  return flight.manoeuvres.flatMap((manoeuvre) => {
    const value = answers[manoeuvre.id]!.values[key]
    return value === undefined ? [] : [{ flight: side, manoeuvre, value }]
  })
}

function evidenceOf(
  key: MeasureKey,
  id: MeasureId,
  axis: Axis | null,
  sides: { readonly a: Side; readonly b: Side },
  matches: readonly Match[],
  model: Covariance | null,
  delta: number,
  floor: number | null,
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
    delta,
    floor,
    cautions: [],
    whole: null,
    refusal: differences.length > 0 ? null : whyNothing(id, sides, axis, countA, countB),
  }
}

function adjustedDifference(
  x: number,
  y: number,
  a: Manoeuvre,
  b: Manoeuvre,
  model: Covariance | null,
): number {
  return y - x - (model ? model.explained(a, b) : 0)
}

function whyNothing(
  id: MeasureId,
  sides: { readonly a: Side; readonly b: Side },
  axis: Axis | null,
  countA: number,
  countB: number,
): string {
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

function pairOf(
  match: Match,
  answersA: Readonly<Record<string, Answer>>,
  answersB: Readonly<Record<string, Answer>>,
  adjust: ReadonlyMap<MeasureKey, Covariance | null>,
  options: CompareOptions,
): Pair {
  const { a, b, distance, reason } = match
  const valuesA = answersA[a.id]!.values
  const valuesB = answersB[b.id]!.values
  let size = 0
  const differences = (Object.keys(valuesA) as MeasureKey[]).flatMap((key): PairDifference[] => {
    const x = valuesA[key]!
    const y = valuesB[key]
    if (y === undefined) return []
    const difference = adjustedDifference(x, y, a, b, adjust.get(key) ?? null)
    const id = key.slice(0, key.indexOf('.')) as MeasureId
    if (VERDICT_MEASURES[id].headline) size = Math.max(size, Math.abs(difference) / deltaOf(id, options))
    return [{ key, a: x, b: y, difference }]
  })
  return { a: a.id, b: b.id, name: a.name, axis: a.axis, distance, reason, differences, size }
}

/** What two flights of the same settings differ by, per measure: |effect| over their pairs. */
function floorsOf(
  flight: Measurable,
  answers: Readonly<Record<string, Answer>>,
  again: Measurable,
  bands: ReturnType<typeof commonBands>,
): Map<MeasureKey, number> {
  const answersAgain = measureAnswers(again, bands)
  const { matches } = matchManoeuvres(
    usable(flight.manoeuvres, answers),
    usable(again.manoeuvres, answersAgain),
  )
  const sides = { a: { flight, answers }, b: { flight: again, answers: answersAgain } }
  const { measures } = judge(sides, matches, [], {}, null)
  return new Map(
    measures.flatMap(({ key, effect, pairs }) =>
      effect === null || pairs < 3 ? [] : [[key, Math.abs(effect)] as [MeasureKey, number]],
    ),
  )
}
