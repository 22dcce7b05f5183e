import { FEWEST_PAIRS } from '../verdict/judge.ts'
import { LOOK_FOR, ONE_PACK, type LookForTag } from './advice.ts'
import { plainLine } from '../picture/text.ts'

/** What a verdict said of one measure of the pair in which a moment was marked. */
export interface PairEvidence {
  /** E.g. "lag on roll". */
  readonly measure: string
  readonly word: string
  readonly pairs: number
  /** Pairs that would probably settle it; null where that can't be said, or where it is settled. */
  readonly pairsNeeded: number | null
}

/** A moment that is to be flown again, as it goes into the card. */
export interface MomentToFly {
  readonly whatToFly: string
  readonly note: string
  readonly tags: readonly string[]
  readonly stars: number
  /** The flights in which it is marked, by name. */
  readonly flights: readonly string[]
  /** ISO day of the flight; null when its log does not say. */
  readonly day: string | null
  /** The headline measures of its pair's verdict; null when no verdict of that pair is known. */
  readonly evidence: readonly PairEvidence[] | null
}

/** One line of the card, in plain words of one line each. */
export interface CardItem {
  readonly what: string
  readonly howOften: string
  readonly why: string
  readonly lookFor: readonly string[]
  /** The pilot's own note; '' when there is none. */
  readonly note: string
  /** Flight and day that it comes from. */
  readonly from: string
  readonly stars: number
}

/** What a pilot takes to the field: nothing of it names a place, a file or a serial number. */
export interface FieldCard {
  readonly craft: string
  readonly items: readonly CardItem[]
  /** Moments to fly again for which the card had no room. */
  readonly left: number
  readonly packPlan: string
  readonly cautions: readonly string[]
}

/** The usual cautions, first the ones that keep fingers and people whole. */
export const CARD_CAUTIONS: readonly string[] = [
  'Props off whenever you change something on the bench.',
  'After a change: hover briefly, land, and feel the motors. Hot motors mean go back.',
  'Keep away from people, animals and traffic, and have someone watch the sky with you.',
  'Local rules come first; so do the limits that the makers of craft, motors and batteries give.',
  'One change at a time. Stop when anything feels or sounds wrong: no log is worth a crash.',
]

/** Pairs beyond this are more than an afternoon's flying (common practice, no source). */
const MOST_IN_A_DAY = 40
/** More than the fewest pairs, since some find no like partner (common practice, no source). */
const SPARE = 2
/** More lines than this no one reads at the field. */
export const MOST_ITEMS = 12

/**
 * The card of a craft's moments that are to be flown again: the most stars first, then in the order given.
 * All text in it is made plain, one line each; nothing in it is ever interpreted.
 */
export function fieldCard(craft: string, moments: readonly MomentToFly[]): FieldCard {
  const ordered = [...moments].sort((one, other) => other.stars - one.stars)
  return {
    craft: plainLine(craft) || 'Craft not named',
    items: ordered.slice(0, MOST_ITEMS).map(itemOf),
    left: Math.max(0, ordered.length - MOST_ITEMS),
    packPlan: ONE_PACK,
    cautions: CARD_CAUTIONS,
  }
}

function itemOf(moment: MomentToFly): CardItem {
  const tags = moment.tags.map(plainLine).filter((tag) => tag !== '')
  const what = plainLine(moment.whatToFly)
  const note = plainLine(moment.note)
  const known = tags.flatMap((tag) => LOOK_FOR[tag.toLowerCase() as LookForTag] ?? [])
  const own = tags.filter((tag) => !(tag.toLowerCase() in LOOK_FOR))
  return {
    what: what || (note === '' ? `The same as here${tags.length > 0 ? `: ${tags.join(', ')}` : ''}` : note),
    ...howOften(moment.evidence && aboutTags(moment.evidence, tags)),
    lookFor: [...known, ...(own.length > 0 ? [`Noted as: ${own.join(', ')}.`] : [])],
    note: what === '' ? '' : note,
    from: [moment.flights.map(plainLine).join(' and '), moment.day ?? ''].filter(Boolean).join(', '),
    stars: moment.stars,
  }
}

/** What a verdict said of the very thing that was marked ("bounce-back"), where it measures that and is open; else all. */
function aboutTags(evidence: readonly PairEvidence[], tags: readonly string[]): readonly PairEvidence[] {
  const own = evidence.filter(
    ({ measure, word }) =>
      word === "can't tell" && tags.some((tag) => measure.toLowerCase().startsWith(tag.toLowerCase())),
  )
  return own.length > 0 ? own : evidence
}

/**
 * How often to fly it, and why: from the pairs that the verdict of its pair still needs; where no verdict is known, or
 * it can't say, from the fewest pairs with which a signed-rank test can reach p < .05 (2 / 2^6 = .031; five give
 * .0625), with two to spare.
 */
export function howOften(evidence: readonly PairEvidence[] | null): { howOften: string; why: string } {
  const times = FEWEST_PAIRS + SPARE
  const rule = `${times} times in each flight, A and B`
  const ruleWhy = `fewer than ${FEWEST_PAIRS} like pairs can never settle a difference, and some find no partner`
  if (evidence === null) return { howOften: rule, why: `No verdict of its pair is known: ${ruleWhy}.` }
  const open = evidence.filter(({ word }) => word === "can't tell")
  if (open.length === 0) {
    return {
      howOften: 'Once or twice, to see it again',
      why: 'The verdict of its pair is settled; another pair of flights tells whether it holds on another day.',
    }
  }
  const planned = open
    .flatMap(({ measure, pairs, pairsNeeded }) =>
      pairsNeeded === null ? [] : [{ measure, pairs, pairsNeeded }],
    )
    .sort((one, other) => one.pairsNeeded - other.pairsNeeded)
  const [first, ...rest] = planned
  if (!first) return { howOften: rule, why: `Its verdict can’t tell yet: ${ruleWhy}.` }
  const so = `${first.pairs} ${first.pairs === 1 ? 'pair' : 'pairs'} so far`
  if (first.pairsNeeded > MOST_IN_A_DAY) {
    return {
      howOften: rule,
      why: `Settling ${first.measure} would take about ${first.pairsNeeded} pairs (${so}): too many for a day. A bolder change would show sooner.`,
    }
  }
  const more = rest.find(({ pairsNeeded }) => pairsNeeded > first.pairsNeeded)
  return {
    howOften: `About ${first.pairsNeeded} times in each flight, A and B`,
    why: `That would probably settle ${first.measure} (${so})${more ? `; ${more.measure} would take about ${more.pairsNeeded}` : ''}.`,
  }
}
