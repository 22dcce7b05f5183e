import type { Axis } from '../flight/axes.ts'
import type { Manoeuvre, ManoeuvreEdit } from '../manoeuvre/manoeuvre.ts'
import type { Exclusion, Interval, Method } from '../signal/result.ts'
import type { BounceBack } from '../manoeuvre/bounce-back.ts'
import type { MeasureId } from './measures.ts'
import type { Floor } from './repeat.ts'

/**
 * What `compareFlights` hands over: plain data that survives structured clone and JSON. Numbers that can't be given
 * are null, never NaN. B minus A throughout; swapping the flights mirrors every number.
 */
export interface Comparison {
  readonly method: Method
  readonly a: FlightInComparison
  readonly b: FlightInComparison
  /** Largest difference first (in units of the difference that matters, headline measures). */
  readonly pairs: readonly Pair[]
  readonly unmatched: Unmatched
  readonly balance: readonly BalanceRow[]
  /** Inputs that took no part in pairing, each with the reason in a plain sentence. */
  readonly notCompared: readonly { readonly input: string; readonly reason: string }[]
  /** Per axis in the order roll, pitch, yaw; then measures of the whole craft (axis null). */
  readonly measures: readonly MeasureVerdict[]
  readonly verdict: OneLineVerdict
  /** Two or three plain sentences, most telling first. */
  readonly reading: readonly Reading[]
  readonly exclusions: readonly Exclusion[]
  /** Plain sentences that belong beside the verdict wherever it is shown. */
  readonly cautions: readonly string[]
  /** Shares of the time in which a motor stood at its limit; null without motors. */
  readonly headroom: { readonly a: HeadroomShares | null; readonly b: HeadroomShares | null }
  /** The repeat flight that set the floor: whose settings it was flown with, pairs, and measures with a floor. */
  readonly repeat: { readonly of: 'a' | 'b'; readonly pairs: number; readonly measures: number } | null
  /** How looking at several measures was paid for; 'none' is for exploring. */
  readonly adjustment: 'Holm' | 'none'
}

export interface HeadroomShares {
  /** Per cent of the samples. */
  readonly atTop_percent: number
  readonly atIdle_percent: number
  /** Manoeuvres in which the craft was short of torque, of how many that were looked at. */
  readonly torqueLimited: number
  readonly judged: number
}

export interface FlightInComparison {
  readonly manoeuvres: readonly Manoeuvre[]
  /** What the craft answered to each manoeuvre, by its id; a value is missing where it can't be given. */
  readonly answers: Readonly<Record<string, Answer>>
}

/** The measured answer to one manoeuvre. */
export interface Answer {
  readonly values: Readonly<Partial<Record<MeasureKey, number>>>
  /** The fitted bounce-back of a stop, with its curve; null for the rest. */
  readonly bounceBack: BounceBack | null
  /** Why a stop has no usable answer (motors at their limit, a gap...); null when it has. */
  readonly reason: string | null
}

/** A measure on an axis, e.g. 'lag.roll'; without an axis 'motorTop.craft'. */
export type MeasureKey = `${MeasureId}.${Axis | 'craft'}`

/** Two like manoeuvres, one of each flight. */
export interface Pair {
  readonly a: string
  readonly b: string
  /** E.g. 'roll right'. */
  readonly name: string
  readonly axis: Axis | null
  /** How far apart the inputs lie in units of their tolerance: 0 flown the same, 1 as far apart as a pair may be. */
  readonly distance: number
  /** In plain words: what the two have in common and how far apart they were flown. */
  readonly reason: string
  /** A and B as measured and B - A as adjusted for what is left of different flying. */
  readonly differences: readonly PairDifference[]
  /** Largest |difference| over the difference that matters among the headline measures. */
  readonly size: number
}

export interface PairDifference {
  readonly key: MeasureKey
  readonly a: number
  readonly b: number
  readonly difference: number
}

/** Manoeuvres without a partner, with the reason in words, by id. */
export interface Unmatched {
  readonly a: readonly { readonly id: string; readonly reason: string }[]
  readonly b: readonly { readonly id: string; readonly reason: string }[]
  /** Of the manoeuvres that could have had a partner. */
  readonly shareA: number
  readonly shareB: number
}

/** How alike the flying was on one input of one axis, before and after pairing. */
export interface BalanceRow {
  readonly axis: Axis | null
  /** E.g. 'peak rate'. */
  readonly input: string
  readonly unit: string
  readonly before: Balance
  readonly after: Balance | null
  /** Pairing left more of a difference than counts as alike: 0.1 SD, and a third of what makes no difference. */
  readonly unlike: boolean
}

export interface Balance {
  readonly a: number
  readonly b: number
  /** (mean B - mean A) / pooled SD before pairing; below 0.1 in size counts as alike. */
  readonly standardisedDifference: number
  readonly countA: number
  readonly countB: number
}

export type VerdictWord = 'better' | 'worse' | 'no clear difference' | "can't tell"

/** One measure on one axis, A against B. */
export interface MeasureVerdict {
  readonly id: MeasureId
  readonly key: MeasureKey
  readonly label: string
  readonly axis: Axis | null
  readonly unit: string
  readonly digits: number
  readonly good: 'lower' | 'higher' | 'neither'
  /** Declared before looking; Holm's adjustment goes over these. */
  readonly headline: boolean
  /** Medians over the pairs (or the flight's own figure where there are no pairs). */
  readonly a: number | null
  readonly b: number | null
  /** B - A: Hodges and Lehmann's estimate over the pairs. */
  readonly effect: number | null
  readonly interval: Interval<number> | null
  readonly p: number | null
  readonly adjustedP: number | null
  readonly adjustment: 'Holm' | 'Benjamini-Hochberg' | 'none' | null
  /** The smallest difference that matters: fixed beforehand. */
  readonly delta: number
  /** |effect| of the repeat flight: what the same settings differ by; null without one. */
  readonly floor: number | null
  /** The same with the repeat's own interval and pairs; a difference within that is not told from it. */
  readonly floorRange: Floor | null
  readonly word: VerdictWord
  /** Why this word, in one plain sentence. */
  readonly reason: string
  readonly pairs: number
  /** Pairs that would probably settle it, for "can't tell"; null otherwise or when it can't be said. */
  readonly pairsNeeded: number | null
  /** Analysis of covariance over all manoeuvres, matched or not. */
  readonly secondOpinion: { readonly effect: number; readonly low: number; readonly high: number } | null
  /** Bootstrap interval (BCa) of the same effect. */
  readonly bootstrap: { readonly low: number; readonly high: number } | null
  /** 'pairs': from like-for-like pairs; 'flights': from one figure of each flight with its sampling error. */
  readonly from: 'pairs' | 'flights'
  readonly cautions: readonly string[]
}

export interface OneLineVerdict {
  readonly word: VerdictWord | 'better and worse'
  /** E.g. "Better on roll and pitch: tracking error, lag. No clear difference on yaw." */
  readonly sentence: string
}

/** One sentence and what it rests on. */
export interface Reading {
  readonly sentence: string
  /** 'measured', or 'common practice' for a rule of the trade that the evidence only points at. */
  readonly standing: 'measured' | 'common practice'
  /** Keys of the measures and ids of the manoeuvres that it rests on. */
  readonly rests: { readonly measures: readonly MeasureKey[]; readonly manoeuvres: readonly string[] }
  /** Where following it could hurt. */
  readonly caution: string | null
}

/** All that can be chosen. Leave out what is as usual. */
export interface CompareOptions {
  /** The smallest difference that matters, per measure, in its unit. */
  readonly deltas?: Partial<Record<MeasureId, number>>
  /** The measures declared beforehand, instead of the usual ones. */
  readonly headline?: readonly MeasureId[]
  /** 'none' leaves p as it is: for exploring, and said wherever the verdict is shown. */
  readonly adjust?: 'Holm' | 'none'
  readonly edits?: { readonly a?: readonly ManoeuvreEdit[]; readonly b?: readonly ManoeuvreEdit[] }
  /** Called with a share 0..1 and what is being done, in words. */
  readonly onProgress?: (share: number, doing: string) => void
  /** Asked between steps; true ends the comparison by a Problem 'cancelled'. */
  readonly isCancelled?: () => boolean
}
