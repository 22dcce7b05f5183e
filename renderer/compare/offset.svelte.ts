import type { Alignment } from '../../workers/align/align.ts'
import { undoStack, type Undoable } from '../commands/undo.svelte.ts'
import { Burst } from './burst.ts'

/** What laid B over A. */
export type OffsetFrom = 'sticks' | 'pair' | 'hand'

interface Laid {
  readonly offset_s: number
  readonly from: OffsetFrom
}

/** Moves that follow each other this fast are one step of undo: a held key. */
const BURST_MS = 800

/** How far B is moved to lie over A, and why; every change can be undone. */
export class Offset {
  /** What the automatic alignment found. */
  alignment = $state.raw<Alignment | null>(null)
  #laid = $state.raw<Laid>({ offset_s: 0, from: 'sticks' })
  readonly #burst = new Burst(BURST_MS)
  #latest: { readonly change: Undoable; to: Laid } | null = null
  readonly #onChange: () => void

  /** @param onChange told after every move, also of undo */
  constructor(onChange: () => void) {
    this.#onChange = onChange
  }

  get value_s(): number {
    return this.#laid.offset_s
  }

  get from(): OffsetFrom {
    return this.#laid.from
  }

  begin(alignment: Alignment): void {
    this.alignment = alignment
    this.#laid = { offset_s: alignment.offset_s, from: 'sticks' }
  }

  /** Lays B where it lay when the pair was looked at last; nothing to undo. */
  restore(offset_s: number): void {
    this.#put({ offset_s, from: 'hand' })
  }

  /** @param gesture of one drag all moves are one step of undo, however long it rests in between */
  set(offset_s: number, from: OffsetFrom, now_ms = performance.now(), gesture: object | null = null): void {
    const before = this.#laid
    const to: Laid = { offset_s, from }
    if (!Number.isFinite(offset_s) || (before.offset_s === offset_s && before.from === from)) return
    this.#put(to)
    const goesOn = this.#burst.goesOn(now_ms, gesture)
    if (goesOn && from === 'hand' && this.#latest && undoStack.nextUndo === this.#latest.change) {
      this.#latest.to = to
      return
    }
    const change: Undoable = {
      name: 'move B against A',
      undo: () => this.#put(before),
      redo: () => this.#put(latest.to),
    }
    const latest = { change, to }
    this.#latest = from === 'hand' ? latest : null
    undoStack.did(change)
  }

  #put(laid: Laid): void {
    this.#laid = laid
    this.#onChange()
  }
}
