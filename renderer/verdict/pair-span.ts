import { anchorOf } from '../../workers/verdict/pair-traces.ts'
import type { Comparison as Verdict, Pair } from '../../workers/verdict/comparison.ts'
import type { Comparison } from '../compare/comparison.svelte.ts'
import type { Span } from '../compare/view.svelte.ts'

/** Seconds shown before and after the manoeuvres of a pair. */
const AROUND_S = 0.5

/** Where a pair is seen: A's manoeuvre with some time around it, and the offset that lays B's over it. */
export function spanOfPair(
  verdict: Verdict,
  pair: Pair,
): { readonly span: Span; readonly offset_s: number; readonly cursor_s: number } | null {
  const a = verdict.a.manoeuvres.find((one) => one.id === pair.a)
  const b = verdict.b.manoeuvres.find((one) => one.id === pair.b)
  if (!a || !b) return null
  const atA_s = anchorOf(a)
  const atB_s = anchorOf(b)
  const before_s = Math.max(atA_s - a.start_s, atB_s - b.start_s)
  const after_s = Math.max(a.end_s - atA_s, b.end_s - atB_s)
  return {
    span: { t0_s: atA_s - before_s - AROUND_S, t1_s: atA_s + after_s + AROUND_S },
    offset_s: atA_s - atB_s,
    cursor_s: atA_s,
  }
}

/** Takes both flights to a pair: B laid over A by it, the cursor where they lie over each other. */
export function visitPair(comparison: Comparison, pair: Pair): void {
  const { found } = comparison.verdict
  const place = found && spanOfPair(found, pair)
  if (!place) return
  comparison.setOffset(place.offset_s, 'pair')
  comparison.view.show(place.span)
  comparison.cursor_s = place.cursor_s
}
