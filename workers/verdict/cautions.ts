import type { Exclusion } from '../signal/result.ts'
import { LIMITED_SHARE, limitedShare, type Measurable } from './answers.ts'
import type { Answer, Comparison } from './comparison.ts'
import { joined } from './one-line.ts'

type Answers = Readonly<Record<string, Answer>>

/** Unmatched shares above this are told (common practice, no source). */
const MANY_UNMATCHED = 0.3

/** Manoeuvres that could not be measured, or only in part, as shares of those of both flights. */
export function exclusionsOf(
  a: Measurable,
  b: Measurable,
  answersA: Answers,
  answersB: Answers,
): Exclusion[] {
  const all = [
    ...a.manoeuvres.map((manoeuvre) => ({ manoeuvre, even: a.even, answer: answersA[manoeuvre.id]! })),
    ...b.manoeuvres.map((manoeuvre) => ({ manoeuvre, even: b.even, answer: answersB[manoeuvre.id]! })),
  ].filter(({ manoeuvre }) => manoeuvre.kind !== 'hover')
  if (all.length === 0) return []
  const reasons = new Map<string, number>()
  const add = (what: string) => reasons.set(what, (reasons.get(what) ?? 0) + 1)
  for (const { manoeuvre, even, answer } of all) {
    if (answer.reason !== null) add(answer.reason)
    else if (manoeuvre.stop_s !== null && (limitedShare(even, manoeuvre) ?? 0) > LIMITED_SHARE)
      add('Motors at their limit: no lag or bounce-back from these manoeuvres.')
  }
  return [...reasons].map(([what, count]) => ({ what, share: count / all.length }))
}

/** What belongs beside the verdict wherever it is shown. */
export function cautionsOf(
  comparison: Omit<Comparison, 'reading' | 'cautions' | 'verdict'>,
  a: Measurable,
  b: Measurable,
): string[] {
  const cautions = [
    comparison.repeat
      ? `What the same settings differ by comes from one repeat of ${comparison.repeat.of.toUpperCase()} (${comparison.repeat.pairs} pairs of like manoeuvres, ${comparison.repeat.measures} measures): one day, one battery, one wind.`
      : 'These are two flights: battery, wind and heat changed with the setting. Fly A again (A-B-A) to see what the same settings differ by.',
  ]
  if (comparison.adjustment === 'none')
    cautions.push(
      'Not adjusted for looking at several measures: of twenty measures that did not change, about one is called better or worse.',
    )
  const uneven = comparison.balance.filter(({ unlike }) => unlike)
  if (uneven.length > 0) {
    const axes = [...new Set(uneven.flatMap(({ axis }) => axis ?? []))]
    const inputs = [...new Set(uneven.map(({ input }) => input))]
    const where = axes.length > 0 ? ` on ${joined(axes)}` : ''
    cautions.push(
      `Even the pairs were not flown quite alike${where} (${joined(inputs)}); differences are adjusted for that.`,
    )
  }
  const { shareA, shareB } = comparison.unmatched
  if (Math.max(shareA, shareB) > MANY_UNMATCHED)
    cautions.push(
      `${(100 * shareA).toFixed(0)} % of A's manoeuvres and ${(100 * shareB).toFixed(0)} % of B's have no like partner: the verdict speaks of the rest.`,
    )
  // Missing in both logs is told beside the balance table; missing in one, or of another kind, may explain a difference.
  cautions.push(
    ...comparison.notCompared.map(({ reason }) => reason).filter((reason) => !reason.startsWith('Neither')),
  )
  const { rate_hz } = a.signals
  const ratio = Math.max(rate_hz, b.signals.rate_hz) / Math.min(rate_hz, b.signals.rate_hz)
  if (ratio > 1.05)
    cautions.push(
      'The logs have different rates: noise is compared in the band of the slower one, and may hold what folded into it.',
    )
  const limited = [a, b].some(({ even, manoeuvres }) =>
    manoeuvres.some(
      (manoeuvre) => manoeuvre.stop_s !== null && (limitedShare(even, manoeuvre) ?? 0) > LIMITED_SHARE,
    ),
  )
  if (limited)
    cautions.push(
      'Motors stood at their limit in some manoeuvres: the tracking error there tells of power left, not of tuning.',
    )
  const covered = [a, b].some(({ even }) => Math.max(even.rate_hz) < 200)
  if (covered) cautions.push('Logs below 200 Hz blur short swings: bounce-back and lag are coarse.')
  return cautions
}
