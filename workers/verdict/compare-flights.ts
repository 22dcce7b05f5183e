import type { FlightSignals } from '../flight/signals.ts'
import { Problem } from '../log/problems.ts'
import { detectManoeuvres } from '../manoeuvre/detect.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { measurable, measureAnswers, type Measurable } from './answers.ts'
import { cautionsOf, exclusionsOf } from './cautions.ts'
import type {
  Answer,
  CompareOptions,
  Comparison,
  FlightInComparison,
  MeasureKey,
  Pair,
  PairDifference,
} from './comparison.ts'
import type { Covariance } from './covariance.ts'
import { evenFlight } from './even-flight.ts'
import { adjustedDifference } from './gather.ts'
import { headroomShares } from './headroom-shares.ts'
import { judgeAll } from './judge-all.ts'
import { notCompared } from './likeness.ts'
import type { MeasureId } from './measures.ts'
import { COMPARISON_METHOD } from './method.ts'
import { commonBands } from './noise-bands.ts'
import { oneLine } from './one-line.ts'
import { balanceTable, matchManoeuvres, type Match } from './pairs.ts'
import { readingOf } from './reading.ts'
import { floorsOf, type RepeatFlight } from './repeat.ts'
import { rulesOf, type Rules } from './rules.ts'
import { stepEvidence } from './step-evidence.ts'

export { COMPARISON_METHOD }

/**
 * Compares two flights like for like: what B does differently from A to the same stick, with its uncertainty and the
 * word for it. Both in canonical units (see FlightSignals); what a log lacks is refused measure by measure with its
 * reason, nothing throws for it. `repeat` is another flight of the very settings of A or B: what the two differ by is the floor that a
 * difference must pass. Deterministic; swapping A and B mirrors every number.
 *
 * @throws Problem 'cancelled' when `isCancelled` says so.
 */
export function compareFlights(
  a: FlightSignals,
  b: FlightSignals,
  options: CompareOptions = {},
  repeat?: RepeatFlight,
): Comparison {
  const progress = (share: number, doing: string) => {
    if (options.isCancelled?.()) throw new Problem('cancelled', 'The comparison was stopped.')
    options.onProgress?.(share, doing)
  }
  progress(0, 'Finding manoeuvres')
  const rules = rulesOf(options)
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
  const sides = { a: { flight: flightA, answers: answersA }, b: { flight: flightB, answers: answersB } }
  if (repeat) progress(0.82, 'Comparing with the repeat flight')
  const floors = repeat ? floorsOf(sides[repeat.of], repeat, bands) : null
  progress(0.95, 'Judging')
  const judged = judgeAll(sides, matching.matches, steps, rules, floors?.floors ?? null)
  const pairs = matching.matches
    .map((match) => pairOf(match, answersA, answersB, judged.adjust, rules))
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
    repeat: floors && { of: floors.of, pairs: floors.pairs, measures: floors.floors.size },
    adjustment: rules.adjust,
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

function pairOf(
  match: Match,
  answersA: Readonly<Record<string, Answer>>,
  answersB: Readonly<Record<string, Answer>>,
  adjust: ReadonlyMap<MeasureKey, Covariance | null>,
  rules: Rules,
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
    if (rules.isHeadline(id)) size = Math.max(size, Math.abs(difference) / rules.delta(id))
    return [{ key, a: x, b: y, difference }]
  })
  return { a: a.id, b: b.id, name: a.name, axis: a.axis, distance, reason, differences, size }
}
