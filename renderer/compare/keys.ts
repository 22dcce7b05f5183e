import type { Comparison } from './comparison.svelte.ts'
import { stepFrom } from './readout.ts'

/** What the keys do while no field has the focus; listed in the window by the "Keys" button. */
export const KEYS: readonly { readonly keys: string; readonly what: string }[] = [
  { keys: '← →', what: 'move the cursor by one sample of A (with Shift: pan)' },
  { keys: '+ −', what: 'zoom in and out about the cursor' },
  { keys: 'Home', what: 'show both flights whole' },
  { keys: '[ ]', what: 'back and forward through views' },
  { keys: ', .', what: 'move B 10 ms earlier or later' },
  { keys: '1 2', what: 'set two marks at the cursor: the time between them and its rate' },
  { keys: 'O', what: 'overlaid or beside' },
  { keys: 'P', what: 'the comparison picture' },
]

/** Acts on a key press; false when the key means nothing here. */
export function pressKey(comparison: Comparison, event: KeyboardEvent, openPicture: () => void): boolean {
  if (event.ctrlKey || event.metaKey || event.altKey) return false
  const { view } = comparison
  const step = (by: -1 | 1) => {
    if (event.shiftKey) return view.pan(0.1 * by)
    if (!comparison.a) return
    const middle_s = (view.span.t0_s + view.span.t1_s) / 2
    comparison.cursor_s =
      comparison.cursor_s === null ? middle_s : stepFrom(comparison.a.signals, comparison.cursor_s, by)
  }
  const actions: Record<string, () => void> = {
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
    '+': () => view.zoom(1 / 1.5, comparison.cursor_s ?? undefined),
    '=': () => view.zoom(1 / 1.5, comparison.cursor_s ?? undefined),
    '-': () => view.zoom(1.5, comparison.cursor_s ?? undefined),
    Home: () => view.showWhole(),
    '[': () => view.back(),
    ']': () => view.forward(),
    ',': () => comparison.setOffset(comparison.offset_s - 0.01),
    '.': () => comparison.setOffset(comparison.offset_s + 0.01),
    '1': () => comparison.mark(0),
    '2': () => comparison.mark(1),
    o: () => (comparison.arrangement = comparison.arrangement === 'overlaid' ? 'beside' : 'overlaid'),
    p: openPicture,
  }
  const action = actions[event.key.length === 1 ? event.key.toLowerCase() : event.key]
  action?.()
  return action !== undefined
}
