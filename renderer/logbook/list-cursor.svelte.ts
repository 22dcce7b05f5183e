import { SvelteSet } from 'svelte/reactivity'
import type { FlightGroup } from '../../electron/desk/contract/listing.ts'
import { drawnFlight, keyOfGroup, type Layout } from './lines.ts'

/** Which line of the list the keys are at, and which groups are folded up. */
export class ListCursor {
  /** Place in the whole list; null until the list was used by key. */
  index = $state<number | null>(null)
  /** The place that is to be brought into sight and to get the focus; the table sees to it. */
  wanted = $state.raw<{ readonly index: number } | null>(null)
  readonly folded = new SvelteSet<string>()

  goTo(index: number): void {
    this.index = index
    this.wanted = { index }
  }

  /** Goes on by so many lines that are drawn, up to the ends of the list. */
  step(layout: Layout, by: number): void {
    const next = drawnFlight(layout, this.index, by)
    if (next !== null) this.goTo(next)
  }

  /** The list was asked for anew, by something else: what stood at a place may stand elsewhere. */
  forget(): void {
    this.index = null
    this.wanted = null
  }

  fold(group: FlightGroup, folded: boolean): void {
    if (folded) this.folded.add(keyOfGroup(group))
    else this.folded.delete(keyOfGroup(group))
  }
}
