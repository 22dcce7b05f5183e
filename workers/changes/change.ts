import type { Axis } from '../flight/axes.ts'
import type { Method } from '../signal/result.ts'
import type { MeasureKey, MeasureVerdict, OneLineVerdict, VerdictWord } from '../verdict/comparison.ts'

/** A flight as a change remembers it: still told by name when it is no longer in the logbook. */
export interface FlightOfChange {
  readonly flightId: number
  /** SHA-256 of its log. */
  readonly contentHash: string
  readonly name: string
  readonly flownAt_ms: number | null
}

/** A setting that was changed, as both sheets write it; null where a sheet has none of that name. */
export interface ChangedValue {
  readonly name: string
  readonly a: string | null
  readonly b: string | null
}

/** One measure of a kept verdict, as it was when it was judged. */
export interface KeptMeasure {
  readonly key: MeasureKey
  readonly label: string
  readonly axis: Axis | null
  readonly unit: string
  readonly digits: number
  readonly good: MeasureVerdict['good']
  readonly headline: boolean
  readonly a: number | null
  readonly b: number | null
  readonly effect: number | null
  readonly low: number | null
  readonly high: number | null
  /** Of the interval; null without one. */
  readonly coverage: number | null
  /** The smallest difference that mattered. */
  readonly delta: number
  /** What a repeat flight of A's settings differed by; null without one. */
  readonly floor: number | null
  readonly pairs: number
  readonly word: VerdictWord
  readonly reason: string
}

/** A verdict with its evidence, kept as it was; it is never computed again behind the pilot's back. */
export interface KeptVerdict {
  readonly judgedAt_ms: number
  readonly method: Method
  /** Names of the flights judged; `repeat` is the other flight of A's settings, if there was one. */
  readonly a: string
  readonly b: string
  readonly repeat: string | null
  readonly word: OneLineVerdict['word']
  readonly sentence: string
  readonly reading: readonly string[]
  readonly cautions: readonly string[]
  /** Pairs of like manoeuvres. */
  readonly pairs: number
  readonly measures: readonly KeptMeasure[]
}

/** What was altered between flights of a craft, why, and what came of it. */
export interface Change {
  readonly id: string
  readonly craft: string
  /** Where it stands in the trail. */
  readonly madeAt_ms: number
  readonly what: string
  /** What the sheets said when it was recorded. */
  readonly settings: readonly ChangedValue[]
  readonly why: string
  readonly expectation: string
  readonly note: string
  /** Flights with the old settings; the first is judged as A, the second as A's repeat. */
  readonly before: readonly FlightOfChange[]
  /** Flights with the new settings; the first is judged as B. */
  readonly after: readonly FlightOfChange[]
  readonly verdict: KeptVerdict | null
  /** Verdicts that were replaced by a later one, newest first. */
  readonly earlier: readonly KeptVerdict[]
  /** Given when the change was taken back. */
  readonly undone: { readonly at_ms: number; readonly why: string } | null
  /** The id of the change that this one takes back. */
  readonly takesBack: string | null
  /** The pilot calls what it led to the best so far. */
  readonly best: boolean
}
