import type { ListedMoment, MomentChange } from '../../electron/desk/contract/moments.ts'
import type { Moment } from '../../workers/moments/moment.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call } from '../desk/client.ts'

/** What became of a moment: it stands like this now, or it is gone. */
export type MomentNews =
  | { readonly kind: 'stands'; readonly moment: ListedMoment; readonly isBack: boolean }
  | { readonly kind: 'gone'; readonly id: string }

/**
 * The one place through which this window changes moments. Every change is at the desk as soon as it is made, and can
 * be undone; whoever shows moments listens for what became of them.
 */
class MomentShelf {
  problem = $state('')
  /** The moment that the side by side is to go to once its flights are there. */
  goal = $state.raw<ListedMoment | null>(null)
  readonly #listeners = new Set<(news: MomentNews) => void>()
  /** Words that wait for the desk, the newest of each moment. */
  readonly #waiting = new Map<string, MomentChange>()
  /** Everything goes to the desk one after the other, in the order in which it was done. */
  #turn: Promise<unknown> = Promise.resolve()

  /** Tells what becomes of moments until the returned function is called. */
  listen(hear: (news: MomentNews) => void): () => void {
    this.#listeners.add(hear)
    return () => void this.#listeners.delete(hear)
  }

  /**
   * Keeps a new moment. It is shown as `shown` at once, so that what is typed next goes into its note; when it can't
   * be kept, it is taken back and that is said.
   */
  async add(moment: Moment, shown: ListedMoment): Promise<void> {
    const { id } = moment
    this.#tell({ kind: 'stands', moment: shown, isBack: true })
    // At once, as it is seen: taking it away waits until it is kept.
    const change = { name: 'mark a moment', undo: () => this.#remove(id), redo: () => this.#restore(id) }
    undoStack.did(change)
    const kept = await this.#orSay(() =>
      this.#inTurn(async () => {
        const request = { ...moment, places: [...moment.places], tags: [...moment.tags] }
        this.#stands((await call('moments.add', request)).moment, false)
        return true
      }),
    )
    if (!kept) {
      undoStack.skip(change)
      this.#waiting.delete(id)
      this.#tell({ kind: 'gone', id })
    }
  }

  /** Changes a moment in one step. */
  async edit(before: ListedMoment, change: MomentChange): Promise<void> {
    const kept = await this.#orSay(() => this.#edit(before.id, change))
    if (kept) this.didEdit(before, change)
  }

  /** Keeps what is being typed; `didEdit` tells of it once it is done with. */
  keep(id: string, change: MomentChange): void {
    const isOnItsWay = this.#waiting.has(id)
    this.#waiting.set(id, { ...this.#waiting.get(id), ...change })
    if (isOnItsWay) return
    void this.#orSay(() =>
      this.#inTurn(async () => {
        const newest = this.#waiting.get(id)
        this.#waiting.delete(id)
        if (newest) this.#stands((await call('moments.edit', { momentId: id, change: newest })).moment, false)
      }),
    )
  }

  /** Tells undo that a moment was changed from what it was to what `after` says. */
  didEdit(before: ListedMoment, after: MomentChange): void {
    const names = Object.keys(after) as (keyof MomentChange)[]
    const old = Object.fromEntries(names.map((name) => [name, before[name]])) as MomentChange
    if (JSON.stringify(old) === JSON.stringify(after)) return
    undoStack.did({
      name: 'change a moment',
      undo: async () => void (await this.#edit(before.id, old)),
      redo: async () => void (await this.#edit(before.id, after)),
    })
  }

  async remove(id: string): Promise<void> {
    const done = await this.#orSay(async () => {
      await this.#remove(id)
      return true
    })
    if (done) {
      undoStack.did({
        name: 'take a moment away',
        undo: () => this.#restore(id),
        redo: () => this.#remove(id),
      })
    }
  }

  #edit(id: string, change: MomentChange): Promise<boolean> {
    return this.#inTurn(async () => {
      this.#stands((await call('moments.edit', { momentId: id, change })).moment, false)
      return true
    })
  }

  #remove(id: string): Promise<void> {
    return this.#inTurn(async () => {
      await call('moments.remove', { momentId: id })
      this.#tell({ kind: 'gone', id })
    })
  }

  #restore(id: string): Promise<void> {
    return this.#inTurn(async () => {
      this.#stands((await call('moments.restore', { momentId: id })).moment, true)
    })
  }

  /** Tells how a moment stands at the desk; what was typed since then is newer. */
  #stands(moment: ListedMoment, isBack: boolean): void {
    const { note, whatToFly } = { ...moment, ...this.#waiting.get(moment.id) }
    this.#tell({ kind: 'stands', moment: { ...moment, note, whatToFly }, isBack })
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.#turn.then(work)
    // A failure is the caller's to show; the next one's turn comes all the same.
    this.#turn = turn.catch(() => undefined)
    return turn
  }

  #tell(news: MomentNews): void {
    for (const hear of this.#listeners) hear(news)
  }

  async #orSay<T>(work: () => Promise<T>): Promise<T | null> {
    try {
      const done = await work()
      this.problem = ''
      return done
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = error.message
      return null
    }
  }
}

export const shelf = new MomentShelf()
