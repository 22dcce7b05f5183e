import { Settle } from '../work/settle.ts'
import type { Comparison } from './comparison.svelte.ts'
import type { Span } from './view.svelte.ts'

/** What is seen, and where B lies. */
export interface Rest {
  readonly span: Span
  readonly offset_s: number
}

/** The view counts as resting after this. */
const REST_MS = 120

/**
 * What the view rested at last: for what need not, or can't, follow it at every frame. Called while a component is set
 * up, whose end is its end.
 */
export function restOf(comparison: Comparison): { readonly current: Rest } {
  const now = (): Rest => ({ span: comparison.view.span, offset_s: comparison.offset_s })
  let rest = $state.raw(now())
  $effect(() => {
    const settle = new Settle(REST_MS, () => (rest = now()))
    $effect(() => {
      now()
      settle.ask()
    })
    return () => settle.drop()
  })
  return {
    get current() {
      return rest
    },
  }
}
