import type { Axis } from '../flight/axes.ts'
import { bcaInterval } from '../statistics/bootstrap.ts'
import { normalCdf, normalQuantile } from '../statistics/distributions.ts'
import { median, standardDeviation } from '../statistics/moments.ts'
import { hodgesLehmann, signedRankTest } from '../statistics/signed-ranks.ts'
import type { MeasureKey, MeasureVerdict, VerdictWord } from './comparison.ts'
import { VERDICT_MEASURES, type MeasureFacts, type MeasureId } from './measures.ts'
import type { Floor } from './repeat.ts'

/** Fewer pairs than this can never reach p < .05 (2 / 2^5 = .0625). */
export const FEWEST_PAIRS = 6
const ALPHA = 0.05
const COVERAGE = 0.95
/** Pairs that were flown unevenly must differ by so many times what matters (our own limit, no source). */
const UNEVEN_FACTOR = 2
/** Chance with which the pairs that are said to be needed would settle it. */
const POWER = 0.8
/** More pairs than this are no plan. */
const MOST_PAIRS = 500

/** What the pairs say of one measure on one axis, before the adjustment for looking at several. */
export interface Evidence {
  readonly id: MeasureId
  readonly axis: Axis | null
  readonly a: number | null
  readonly b: number | null
  /** B - A per pair, adjusted for what is left of different flying. */
  readonly differences: readonly number[]
  /** Median of what was taken off the differences for different flying. */
  readonly adjustment: number
  /** The pairs themselves were not flown alike: an input lies more than a spread apart. */
  readonly uneven: boolean
  readonly secondOpinion: { readonly effect: number; readonly low: number; readonly high: number } | null
  /** Declared before looking. */
  readonly headline: boolean
  readonly delta: number
  /** What the same settings differ by; null without a repeat flight. */
  readonly floor: Floor | null
  readonly cautions: readonly string[]
  /** Given for measures of whole flights: no pairs, one difference with its standard error. */
  readonly whole: { readonly effect: number; readonly error: number } | null
  /** Why there is nothing to judge; null when there is. */
  readonly refusal: string | null
}

/** A verdict without adjusted p and word: what `adjudicate` completes. */
export interface Draft {
  readonly evidence: Evidence
  readonly facts: MeasureFacts
  readonly effect: number | null
  readonly low: number | null
  readonly high: number | null
  readonly coverage: number
  readonly p: number | null
  /** The 90 % interval lies within the difference that matters: TOST at 5 %. */
  readonly equivalent: boolean
  readonly bootstrap: { readonly low: number; readonly high: number } | null
  readonly sd: number
}

/** Estimate, interval and test of one measure. */
export function draftOf(evidence: Evidence): Draft {
  const facts: MeasureFacts = VERDICT_MEASURES[evidence.id]
  const nothing = {
    evidence,
    facts,
    effect: null,
    low: null,
    high: null,
    coverage: 0,
    p: null,
    equivalent: false,
    bootstrap: null,
    sd: NaN,
  }
  // Alike is what differs by less than what matters; that a repeat flight differs by more makes nothing alike.
  const limit = evidence.delta
  if (evidence.whole) {
    const { effect, error } = evidence.whole
    const z = normalQuantile(0.5 + 0.5 * COVERAGE)
    const z90 = normalQuantile(0.95)
    // Two-sided normal p, from the interval's own error.
    const p = error > 0 ? twoSided(effect / error) : effect === 0 ? 1 : 0
    return {
      ...nothing,
      effect,
      low: effect - z * error,
      high: effect + z * error,
      coverage: COVERAGE,
      p,
      equivalent: Math.abs(effect) + z90 * error < limit,
      sd: error,
    }
  }
  const { differences } = evidence
  if (differences.length === 0) return nothing
  const { effect, low, high, coverage } = hodgesLehmann(differences, COVERAGE)
  const narrow = hodgesLehmann(differences, 1 - 2 * ALPHA)
  return {
    ...nothing,
    effect,
    low,
    high,
    coverage,
    p: signedRankTest(differences).p,
    equivalent:
      differences.length >= FEWEST_PAIRS &&
      narrow.low > -limit &&
      narrow.high < limit &&
      narrow.coverage >= 1 - 2 * ALPHA,
    bootstrap: differences.length >= FEWEST_PAIRS ? bootstrapOf(differences) : null,
    sd: differences.length > 1 ? standardDeviation(differences) : NaN,
  }
}

function twoSided(z: number): number {
  return 2 * normalCdf(-Math.abs(z))
}

function bootstrapOf(differences: readonly number[]) {
  // In order of size, so that the draws do not know which flight is which.
  const ordered = [...differences].sort((x, y) => Math.abs(x) - Math.abs(y))
  const { low, high } = bcaInterval(
    ordered.length,
    (drawn) => median(Array.from(drawn, (k) => ordered[k]!)),
    { resamples: 600, seed: 11 },
  )
  return { low, high }
}

/** Puts word and reason to a draft, with the p that is adjusted for how many were looked at. */
export function verdictOf(
  draft: Draft,
  adjustedP: number | null,
  adjust: 'Holm' | 'none' = 'Holm',
): MeasureVerdict {
  const { evidence, facts, effect } = draft
  const { word, reason } = wordFor(draft, adjustedP)
  const key: MeasureKey = `${evidence.id}.${evidence.axis ?? 'craft'}`
  return {
    id: evidence.id,
    key,
    label: facts.label,
    axis: evidence.axis,
    unit: facts.unit,
    digits: facts.digits,
    good: facts.good,
    headline: evidence.headline,
    a: evidence.a,
    b: evidence.b,
    effect,
    interval:
      draft.low === null || draft.high === null
        ? null
        : {
            low: draft.low,
            high: draft.high,
            coverage: draft.coverage,
            covers: evidence.whole ? 'sampling error and estimated bias' : 'sampling error only',
          },
    p: draft.p,
    adjustedP,
    adjustment: adjustedP === null ? null : adjustmentOf(evidence.headline, adjust),
    delta: evidence.delta,
    floor: evidence.floor?.size ?? null,
    floorRange: evidence.floor,
    word,
    reason,
    pairs: evidence.differences.length,
    pairsNeeded: word === "can't tell" ? pairsNeeded(draft) : null,
    secondOpinion: evidence.secondOpinion,
    bootstrap: draft.bootstrap,
    from: facts.from,
    cautions: evidence.cautions,
  }
}

const adjustmentOf = (headline: boolean, adjust: 'Holm' | 'none') =>
  adjust === 'none' ? adjust : headline ? 'Holm' : 'Benjamini-Hochberg'

function wordFor(draft: Draft, adjustedP: number | null): { word: VerdictWord; reason: string } {
  const { evidence, facts, effect, low, high } = draft
  const cannot = (reason: string) => ({ word: "can't tell" as const, reason })
  if (evidence.refusal !== null) return cannot(evidence.refusal)
  if (effect === null || low === null || high === null) return cannot('There is nothing to compare.')
  const pairs = evidence.differences.length
  if (!evidence.whole && pairs < FEWEST_PAIRS)
    return cannot(
      `Only ${pairs} ${pairs === 1 ? 'pair' : 'pairs'}: fewer than ${FEWEST_PAIRS} can never settle it.`,
    )
  const { delta } = evidence
  const floor = evidence.floor?.size ?? null
  const limit = Math.max(delta, floor ?? 0)
  const inWords = (value: number) => `${Math.abs(value).toFixed(facts.digits)} ${facts.unit}`.trim()
  const size = inWords(effect)
  const least = inWords(delta)
  const excludes = low > 0 || high < 0
  const sure = adjustedP !== null && adjustedP < ALPHA
  const matters = Math.abs(effect) >= limit
  const second = evidence.secondOpinion
  const agrees =
    !second || (Math.sign(second.effect) === Math.sign(effect) && Math.abs(second.effect) >= 0.5 * limit)
  // Adjustments are estimates too: the difference must matter even if they were wrong by as much again.
  const beyond =
    Math.abs(effect) >=
    Math.max(limit + Math.abs(evidence.adjustment), evidence.uneven ? UNEVEN_FACTOR * limit : 0)
  if (excludes && sure && matters && agrees && !beyond)
    return cannot('The flights were flown too differently: that could explain a difference of this size.')
  // The floor is an estimate as well: a difference that the same settings may yet make is none of the change's.
  const most = evidence.floor ? farEnd(evidence.floor) : 0
  if (excludes && sure && matters && agrees && Math.abs(effect) < most)
    return cannot(
      `B is ${size} ${effect > 0 ? 'higher' : 'lower'}; two flights of the same settings differ by ${inWords(floor ?? 0)}, which is only known to lie within ${inWords(most)}: it could be as much.`,
    )
  if (excludes && sure && matters && agrees) {
    if (facts.good === 'neither')
      return cannot(`B is ${size} ${effect > 0 ? 'higher' : 'lower'}, but neither way is better in itself.`)
    const better = effect < 0 === (facts.good === 'lower')
    return {
      word: better ? 'better' : 'worse',
      reason: `Surely ${effect > 0 ? 'higher' : 'lower'}, by more than the ${
        floor === null || floor < delta
          ? `${least} that matter`
          : `${inWords(floor)} that two flights of the same settings differ by`
      }.`,
    }
  }
  if (draft.equivalent)
    return { word: 'no clear difference', reason: `Any difference is smaller than ${least}.` }
  if (excludes && floor !== null && Math.abs(effect) >= delta && Math.abs(effect) < floor)
    return cannot(
      `B is ${size} ${effect > 0 ? 'higher' : 'lower'}, but two flights of the same settings already differ by ${inWords(floor)}.`,
    )
  if (excludes && sure && matters)
    return cannot('Pairs and analysis of covariance do not agree: the flying may explain it.')
  if (excludes && matters) return cannot('It would not hold up to having looked at several measures.')
  if (excludes) return cannot(`There seems to be a difference, but not surely one of ${least}.`)
  return cannot('The interval holds both no difference and one that would matter.')
}

/** The largest difference that the same settings may make, by the repeat flight's own interval. */
const farEnd = ({ low, high }: Floor): number => Math.max(Math.abs(low), Math.abs(high))

/** Pairs with which it would probably be settled, by the spread seen; null when that is no plan. */
function pairsNeeded(draft: Draft): number | null {
  const { evidence, effect, sd } = draft
  if (evidence.whole || evidence.refusal !== null) return null
  const limit = Math.max(evidence.delta, evidence.floor?.size ?? 0)
  // More pairs of these two flights won't lift a difference over what the same settings differ by.
  const floor = evidence.floor ? farEnd(evidence.floor) : 0
  if (effect !== null && floor > evidence.delta && Math.abs(effect) < floor) return null
  if (effect === null || !(sd > 0)) return FEWEST_PAIRS
  const zPower = normalQuantile(POWER)
  // 3 / pi: what ranks need against the mean where the mean would be best.
  const ranks = Math.PI / 3
  const distance = Math.abs(effect) >= limit ? Math.abs(effect) : limit - 0.5 * Math.abs(effect)
  const z = Math.abs(effect) >= limit ? normalQuantile(1 - ALPHA / 2) : normalQuantile(1 - ALPHA)
  const count = Math.ceil(ranks * (((z + zPower) * sd) / distance) ** 2)
  const more = Math.max(count, evidence.differences.length + 1, FEWEST_PAIRS + 2)
  return more <= MOST_PAIRS ? more : null
}
