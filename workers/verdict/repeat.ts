import type { FlightSignals } from '../flight/signals.ts'
import { detectManoeuvres } from '../manoeuvre/detect.ts'
import type { ManoeuvreEdit } from '../manoeuvre/manoeuvre.ts'
import { measurable, measureAnswers } from './answers.ts'
import type { MeasureKey } from './comparison.ts'
import { evenFlight } from './even-flight.ts'
import type { Side } from './gather.ts'
import { judgeAll } from './judge-all.ts'
import { commonBands, type NoiseBands } from './noise-bands.ts'
import { matchManoeuvres } from './pairs.ts'
import { rulesOf } from './rules.ts'
import { stepEvidence } from './step-evidence.ts'

/** Another flight of the very settings that A or B was flown with. */
export interface RepeatFlight {
  readonly signals: FlightSignals
  /** Whose settings it was flown with. */
  readonly of: 'a' | 'b'
  readonly edits?: readonly ManoeuvreEdit[]
}

/** What the same settings differ by from flight to flight. */
export interface Floors {
  readonly of: 'a' | 'b'
  /** Pairs of like manoeuvres of the flight and its repeat. */
  readonly pairs: number
  /** |effect| per measure, in its unit; missing where too few pairs show it. */
  readonly floors: ReadonlyMap<MeasureKey, number>
}

/** With fewer pairs the difference is one of chance (our own limit, no source). */
const FEWEST_PAIRS = 3

/** Compares a flight with its repeat, like for like, measure by measure: what no change of settings made. */
export function floorsOf(flight: Side, repeat: RepeatFlight, bands: NoiseBands): Floors {
  const manoeuvres = detectManoeuvres(repeat.signals, repeat.edits ? { edits: repeat.edits } : {})
  const again = measurable(repeat.signals, evenFlight(repeat.signals), manoeuvres)
  const sides = { a: flight, b: { flight: again, answers: measureAnswers(again, bands) } }
  const [own, other] = [sides.a, sides.b].map((side) =>
    side.flight.manoeuvres.filter(({ id }) => side.answers[id]!.reason === null),
  )
  const { matches } = matchManoeuvres(own!, other!)
  const { measures } = judgeAll(sides, matches, stepEvidence(flight.flight, again), rulesOf({}), null)
  const floors = new Map<MeasureKey, number>()
  const shown = commonBands(repeat.signals.rate_hz, repeat.signals.rate_hz)
  for (const { id, key, effect, pairs, from } of measures) {
    if (effect === null || (from === 'pairs' && pairs < FEWEST_PAIRS)) continue
    // A slower repeat shows less of a band: what it differs by there is the log's doing.
    if (id === 'noiseLow' && !shown.low_hz) continue
    if (id === 'noiseHigh' && (shown.high_hz?.[1] ?? 0) < (bands.high_hz?.[1] ?? 0)) continue
    floors.set(key, Math.abs(effect))
  }
  return { of: repeat.of, pairs: matches.length, floors }
}
