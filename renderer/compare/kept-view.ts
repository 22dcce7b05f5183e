/**
 * How a pair of flights was looked at last, so that it is there again when the window opens: kept per pair, known by
 * the flights' content, not by their place in the logbook.
 *
 * To keep something more of the view: an optional entry in `keptViewSchema`, its line in `viewOf` and in
 * `restoreView`. Everything else (bounds, checks, when it is written) is done.
 */
import * as v from 'valibot'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { Comparison } from './comparison.svelte.ts'
import type { Span } from './view.svelte.ts'

/** Pairs that are remembered; the one looked at longest ago is forgotten first. */
export const MOST_VIEWS = 40

const finite = v.pipe(v.number(), v.finite())
const short = v.pipe(v.string(), v.maxLength(300))

export const keptViewSchema = v.object({
  pair: short,
  span: v.pipe(
    v.object({ t0_s: finite, t1_s: finite }),
    v.check(({ t0_s, t1_s }) => t0_s < t1_s),
  ),
  /** Null: B lies as the alignment laid it. */
  byHand_s: v.nullable(finite),
  cursor_s: v.nullable(finite),
  marks_s: v.tuple([v.nullable(finite), v.nullable(finite)]),
  arrangement: v.picklist(['overlaid', 'beside']),
  range_db: v.nullable(
    v.pipe(
      v.object({ min_db: finite, max_db: finite }),
      v.check(({ min_db, max_db }) => min_db < max_db),
    ),
  ),
  /** The manoeuvre that was chosen. */
  chosen: v.nullable(v.object({ side: v.picklist(['a', 'b']), id: short })),
})
export type KeptView = v.InferOutput<typeof keptViewSchema>

const keptSchema = v.object({ format: v.literal(1), views: v.array(v.unknown()) })

/** The views in a kept text, newest first; what no longer fits is left out, one by one. Throws nothing. */
export function parseKeptViews(text: string): KeptView[] {
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch {
    return [] // half-written or not ours: pairs open as they do the first time
  }
  const kept = v.safeParse(keptSchema, json)
  if (!kept.success) return []
  return kept.output.views.slice(0, MOST_VIEWS).flatMap((one) => {
    const view = v.safeParse(keptViewSchema, one)
    return view.success ? [view.output] : []
  })
}

export const writeKeptViews = (views: readonly KeptView[]): string =>
  JSON.stringify({ format: 1, views: views.slice(0, MOST_VIEWS) })

/** The views with this one put first, in the place of the pair's earlier one. */
export const withView = (views: readonly KeptView[], view: KeptView): KeptView[] =>
  [view, ...views.filter(({ pair }) => pair !== view.pair)].slice(0, MOST_VIEWS)

type Part = Pick<FlightDetail, 'contentHash' | 'span'>

/** Names a pair by the content of both logs and by which parts of them the flights are. */
export function nameOfPair(a: Part, b: Part): string {
  const name = ({ contentHash, span }: Part) =>
    span
      ? `${contentHash.slice(0, 32)}@${span.t0_s.toFixed(3)}-${span.t1_s.toFixed(3)}`
      : contentHash.slice(0, 32)
  return `${name(a)} ${name(b)}`
}

/** What is kept of how a pair is looked at; null while it is not loaded. */
export function viewOf(comparison: Comparison): KeptView | null {
  const { a, b } = comparison
  if (!a || !b) return null
  return {
    pair: nameOfPair(a.detail, b.detail),
    span: comparison.view.span,
    byHand_s: comparison.offset.from === 'sticks' ? null : comparison.offset_s,
    cursor_s: comparison.cursor_s,
    marks_s: comparison.marks_s,
    arrangement: comparison.arrangement,
    range_db: comparison.range_db,
    chosen: comparison.verdict.chosen,
  }
}

/** Puts a kept view in force; both flights must be loaded and aligned. */
export function restoreView(comparison: Comparison, kept: KeptView): void {
  if (kept.byHand_s !== null) comparison.offset.restore(kept.byHand_s)
  const { view } = comparison
  view.reset(view.whole, within(kept.span, view.whole))
  comparison.cursor_s = kept.cursor_s
  comparison.marks_s = [...kept.marks_s]
  comparison.arrangement = kept.arrangement
  comparison.lanes.restoreRange(kept.range_db)
  comparison.verdict.chosen = kept.chosen
}

/** The part of a span that lies in the whole; the whole where nothing to speak of is left. */
export function within(span: Span, whole: Span): Span {
  const t0_s = Math.max(span.t0_s, whole.t0_s)
  const t1_s = Math.min(span.t1_s, whole.t1_s)
  return t1_s - t0_s > 0.001 ? { t0_s, t1_s } : whole
}
