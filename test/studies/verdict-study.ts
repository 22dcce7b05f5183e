/**
 * The slow study of the verdict on simulated flights whose truth is known. Prints one line a seed and the summary at
 * the end, and writes the summary when told where to:
 *
 *     npm exec -- node test/studies/verdict-study.ts --first 1001 --seeds 200 --out test/fixtures/verdict/study.json
 *
 * About six seconds of one core a seed; the file is written anew after each seed, so that a study may be stopped. `--first N` starts at another seed. What must hold stands in
 * test/unit/verdict/study.test.ts, which also runs a few seeds of its own.
 */
import { writeFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { AXES } from '../../workers/flight/axes.ts'
import { simulateFlight } from '../../workers/model/flight.ts'
import { findScenario } from '../../workers/model/scenarios.ts'
import { detectManoeuvres } from '../../workers/manoeuvre/detect.ts'
import { measurable } from '../../workers/verdict/answers.ts'
import { compareFlights, COMPARISON_METHOD } from '../../workers/verdict/compare-flights.ts'
import type { Comparison } from '../../workers/verdict/comparison.ts'
import { evenFlight } from '../../workers/verdict/even-flight.ts'
import { judgeSpan, watchAxis } from '../../workers/verdict/stick-or-rest.ts'
import { signalsOf } from '../unit/manoeuvre/flown.ts'
import { FIRMER, flown, MUCH_ROUGHER, ROUGHER, SOFT } from './flights.ts'
import { scoreStops } from './score-stops.ts'

export interface StudySummary {
  /** The command that gives exactly this. */
  command: string
  readonly methodVersion: number
  readonly firstSeed: number
  /** Seeds done. */
  seeds: number
  /** Comparisons with no true difference, and those in which any headline measure was called better or worse. */
  readonly same: Alarms
  readonly rougher: Alarms
  readonly muchRougher: Alarms
  /** Roll and pitch of soft against firmer loops with at least 12 pairs, and how many were called better on bounce-back. */
  readonly improvement: { comparisons: number; better: number; worse: number; betterOnLag: number }
  readonly stops: { wanted: number; found: number; hits: number }
  /** Knocks, and those called not explained by the stick; scripted stops without a knock, and those called the stick's. */
  readonly knocks: { injected: number; called: number }
  readonly sticks: { made: number; called: number }
}

interface Alarms {
  comparisons: number
  alarms: number
}

/** Runs the study over seeds firstSeed, firstSeed + 1, ...; deterministic. */
export function runStudy(
  firstSeed: number,
  seeds: number,
  tell: (line: string, soFar: StudySummary) => void = () => undefined,
): StudySummary {
  const summary: StudySummary = {
    command: '',
    methodVersion: COMPARISON_METHOD.version,
    firstSeed,
    seeds: 0,
    same: { comparisons: 0, alarms: 0 },
    rougher: { comparisons: 0, alarms: 0 },
    muchRougher: { comparisons: 0, alarms: 0 },
    improvement: { comparisons: 0, better: 0, worse: 0, betterOnLag: 0 },
    stops: { wanted: 0, found: 0, hits: 0 },
    knocks: { injected: 0, called: 0 },
    sticks: { made: 0, called: 0 },
  }
  for (let seed = firstSeed; seed < firstSeed + seeds; seed++) {
    // Flights of one seed must not share their chance: ten seeds apart, each flight its own.
    const own = 100_000 + 10 * seed
    const base = flown(own)
    const rivals = {
      same: flown(own + 1),
      rougher: flown(own + 2, { pilot: ROUGHER }),
      muchRougher: flown(own + 3, { pilot: MUCH_ROUGHER }),
    }
    const told: string[] = []
    for (const name of ['same', 'rougher', 'muchRougher'] as const) {
      const comparison = compareFlights(base.signals, rivals[name].signals)
      const alarms = clearHeadlines(comparison)
      summary[name].comparisons++
      if (alarms.length > 0) summary[name].alarms++
      told.push(...alarms.map((alarm) => `${name} ${alarm}`))
      countStops(summary, rivals[name].record, comparison.b)
    }
    const improved = compareFlights(
      flown(own + 4, { tune: SOFT }).signals,
      flown(own + 5, { tune: FIRMER }).signals,
    )
    countImprovement(summary, improved)
    countTwitches(summary, own + 6)
    const { better, comparisons } = summary.improvement
    summary.seeds++
    summary.command = `npm exec -- node test/studies/verdict-study.ts --first ${firstSeed} --seeds ${summary.seeds}`
    tell(`${seed}: better ${better} of ${comparisons}; ${told.join('; ') || 'no false alarm'}`, summary)
  }
  return summary
}

function clearHeadlines(comparison: Comparison): string[] {
  return comparison.measures
    .filter(({ headline, word }) => headline && (word === 'better' || word === 'worse'))
    .map(({ key, word, effect, pairs }) => `${key} ${word} ${effect!.toFixed(2)} (${pairs} pairs)`)
}

function countStops(
  summary: StudySummary,
  record: Parameters<typeof scoreStops>[0],
  flight: Comparison['b'],
): void {
  const score = scoreStops(record, flight.manoeuvres)
  summary.stops.wanted += score.wanted
  summary.stops.found += score.found
  summary.stops.hits += score.hits
}

function countImprovement(summary: StudySummary, comparison: Comparison): void {
  for (const axis of ['roll', 'pitch'] as const) {
    const bounce = comparison.measures.find(({ key }) => key === `bouncePeak.${axis}`)!
    if (bounce.pairs < 12) continue
    summary.improvement.comparisons++
    if (bounce.word === 'better') summary.improvement.better++
    if (bounce.word === 'worse') summary.improvement.worse++
    const lag = comparison.measures.find(({ key }) => key === `lag.${axis}`)!
    if (lag.word === 'better') summary.improvement.betterOnLag++
  }
}

/** Knocks and stick-made stops of a flight with a knock every few seconds, each judged by "me or the quad?". */
function countTwitches(summary: StudySummary, seed: number): void {
  const record = simulateFlight({ ...findScenario('knocks').setup(seed), logRate_hz: 500 })
  const signals = signalsOf(record)
  const even = evenFlight(signals)
  const manoeuvres = detectManoeuvres(signals)
  const { explained } = measurable(signals, even, manoeuvres)
  const watches = AXES.map((axis) => watchAxis(axis, even, explained[axis], manoeuvres))
  for (const knock of record.knocks) {
    const judged = judgeSpan(watches[knock.axis]!, knock.t_s - 0.03, knock.t_s + 0.12)
    summary.knocks.injected++
    if (judged.word === 'not explained by the stick') summary.knocks.called++
  }
  for (const { axis, kind, start_s, stop_s } of manoeuvres) {
    if (axis === null || stop_s === null || !['turn', 'snap'].includes(kind)) continue
    const index = AXES.indexOf(axis)
    const knocked = record.knocks.some(
      (knock) => knock.axis === index && knock.t_s > start_s - 0.15 && knock.t_s < stop_s + 0.15,
    )
    if (knocked) continue
    summary.sticks.made++
    if (judgeSpan(watches[index]!, start_s, stop_s + 0.1).word === 'the stick') summary.sticks.called++
  }
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: {
      seeds: { type: 'string', default: '200' },
      first: { type: 'string', default: '1' },
      out: { type: 'string' },
    },
  })
  const textOf = (summary: StudySummary) => JSON.stringify(summary, null, 2) + '\n'
  const summary = runStudy(Number(values.first), Number(values.seeds), (line, soFar) => {
    console.log(line)
    if (values.out !== undefined) writeFileSync(values.out, textOf(soFar))
  })
  console.log(textOf(summary))
}
