import { AXES, type Axis } from '../flight/axes.ts'
import type { Method } from '../signal/result.ts'
import type { Comparison, VerdictWord } from '../verdict/comparison.ts'
import type { Change, KeptMeasure, KeptVerdict } from './change.ts'

/** So many replaced verdicts are kept with a change. */
const MOST_EARLIER = 20

/** What is kept of a comparison: the words with their evidence, no curves. */
export function verdictToKeep(
  comparison: Comparison,
  facts: Pick<KeptVerdict, 'judgedAt_ms' | 'a' | 'b' | 'repeat'>,
): KeptVerdict {
  return {
    ...facts,
    method: comparison.method,
    word: comparison.verdict.word,
    sentence: comparison.verdict.sentence,
    reading: comparison.reading.map(({ sentence, caution }) =>
      caution ? `${sentence} ${caution}` : sentence,
    ),
    cautions: comparison.cautions,
    pairs: comparison.pairs.length,
    measures: comparison.measures.map(
      ({ key, label, axis, unit, digits, good, headline, a, b, effect, interval, ...rest }): KeptMeasure => ({
        key,
        label,
        axis,
        unit,
        digits,
        good,
        headline,
        a,
        b,
        effect,
        low: interval?.low ?? null,
        high: interval?.high ?? null,
        coverage: interval?.coverage ?? null,
        delta: rest.delta,
        floor: rest.floor,
        pairs: rest.pairs,
        word: rest.word,
        reason: rest.reason,
      }),
    ),
  }
}

/** A change with a new verdict; the one it had stays among the earlier ones. */
export function withVerdict(change: Change, verdict: KeptVerdict): Change {
  const earlier = change.verdict ? [change.verdict, ...change.earlier].slice(0, MOST_EARLIER) : change.earlier
  return { ...change, verdict, earlier }
}

/** In words, when a verdict was made by another method than today's; null when it is the same. */
export function methodNote({ method }: KeptVerdict, today: Method): string | null {
  if (method.id === today.id && method.version === today.version) return null
  return `Judged by version ${method.version} of the method; today's is ${today.version}. What is kept stays as it was until you judge again.`
}

/** The headline words of one axis, or of the craft (axis null). */
export interface AxisWords {
  readonly axis: Axis | null
  readonly words: readonly { readonly word: VerdictWord; readonly labels: readonly string[] }[]
}

const WORDS: readonly VerdictWord[] = ['better', 'worse', 'no clear difference', "can't tell"]

/** The headline measures' words by axis, those that say something first. */
export function wordsByAxis({ measures }: KeptVerdict): AxisWords[] {
  return [...AXES, null].flatMap((axis) => {
    const own = measures.filter((measure) => measure.headline && measure.axis === axis)
    const words = WORDS.flatMap((word) => {
      const labels = own
        .filter((measure) => measure.word === word)
        .map(({ label }) => label.replace(/, RMS$/, ''))
      return labels.length > 0 ? [{ word, labels }] : []
    })
    return words.length > 0 ? [{ axis, words }] : []
  })
}
