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

/** What the same settings differ by in one measure, and how sure that is. */
export interface Floor {
  /** |effect| of the repeat flight, in the measure's unit. */
  readonly size: number
  /** The interval of that difference, turned so that it holds `size`: sampling error only. */
  readonly low: number
  readonly high: number
  readonly coverage: number
  /** Pairs that show it; 0 for figures of whole flights. */
  readonly pairs: number
}

/** The version is raised whenever the same repeat flight would set another floor or give other words. */
export const REPEAT_METHOD = { id: 'repeat-floor', version: 2 }

/** What the same settings differ by from flight to flight. */
export interface Floors {
  readonly of: 'a' | 'b'
  /** Pairs of like manoeuvres of the flight and its repeat. */
  readonly pairs: number
  /** Per measure; missing where too few pairs show it. */
  readonly floors: ReadonlyMap<MeasureKey, Floor>
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
  const floors = new Map<MeasureKey, Floor>()
  const shown = commonBands(repeat.signals.rate_hz, repeat.signals.rate_hz)
  for (const { id, key, effect, interval, pairs, from } of measures) {
    if (effect === null || interval === null || (from === 'pairs' && pairs < FEWEST_PAIRS)) continue
    // A slower repeat shows less of a band: what it differs by there is the log's doing.
    if (id === 'noiseLow' && !shown.low_hz) continue
    if (id === 'noiseHigh' && (shown.high_hz?.[1] ?? 0) < (bands.high_hz?.[1] ?? 0)) continue
    const { low, high, coverage } = interval
    const [least, most] = effect < 0 ? [-high, -low] : [low, high]
    floors.set(key, {
      size: Math.abs(effect),
      low: least,
      high: most,
      coverage,
      pairs: from === 'pairs' ? pairs : 0,
    })
  }
  return { of: repeat.of, pairs: matches.length, floors }
}
