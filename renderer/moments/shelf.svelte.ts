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
  /** Changes that wait for the desk, the newest of each moment, and the turn that takes them there. */
  #waiting = new Map<string, MomentChange>()
  #turn: Promise<void> | null = null

  /** Tells what becomes of moments until the returned function is called. */
  listen(hear: (news: MomentNews) => void): () => void {
    this.#listeners.add(hear)
    return () => void this.#listeners.delete(hear)
  }

  /** Keeps a new moment; null when that failed, which is said. */
  async add(moment: Moment): Promise<ListedMoment | null> {
    const { id } = moment
    const added = await this.#orSay(async () => {
      const { moment: kept } = await call('moments.add', {
        ...moment,
        places: [...moment.places],
        tags: [...moment.tags],
      })
      this.#tell({ kind: 'stands', moment: kept, isBack: true })
      return kept
    })
    if (added) {
      undoStack.did({
        name: 'mark a moment',
        undo: () => this.#remove(id),
        redo: () => this.#restore(id),
      })
    }
    return added
  }

  /** Changes a moment in one step. */
  async edit(before: ListedMoment, change: MomentChange): Promise<void> {
    this.keep(before.id, change)
    await this.#settled()
    this.didEdit(before, change)
  }

  /** Keeps what is being typed; `didEdit` tells of it once it is done with. */
  keep(id: string, change: MomentChange): void {
    this.#waiting.set(id, { ...this.#waiting.get(id), ...change })
    this.#turn ??= this.#send().finally(() => (this.#turn = null))
  }

  /** Tells undo that a moment was changed from what it was to what `after` says. */
  didEdit(before: ListedMoment, after: MomentChange): void {
    const names = Object.keys(after) as (keyof MomentChange)[]
    const old = Object.fromEntries(names.map((name) => [name, before[name]])) as MomentChange
    if (JSON.stringify(old) === JSON.stringify(after)) return
    undoStack.did({
      name: 'change a moment',
      undo: () => this.#edit(before.id, old),
      redo: () => this.#edit(before.id, after),
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

  async #send(): Promise<void> {
    while (this.#waiting.size > 0) {
      const [[id, change]] = this.#waiting as unknown as [[string, MomentChange]]
      this.#waiting.delete(id)
      await this.#orSay(async () => {
        const { moment } = await call('moments.edit', { momentId: id, change })
        // What was typed meanwhile is newer than the answer.
        const newer = this.#waiting.get(id)
        this.#tell({ kind: 'stands', moment: { ...moment, ...newer } as ListedMoment, isBack: false })
      })
    }
  }

  async #settled(): Promise<void> {
    while (this.#turn) await this.#turn
  }

  async #edit(id: string, change: MomentChange): Promise<void> {
    await this.#settled()
    const { moment } = await call('moments.edit', { momentId: id, change })
    this.#tell({ kind: 'stands', moment, isBack: false })
  }

  async #remove(id: string): Promise<void> {
    await this.#settled()
    await call('moments.remove', { momentId: id })
    this.#tell({ kind: 'gone', id })
  }

  async #restore(id: string): Promise<void> {
    const { moment } = await call('moments.restore', { momentId: id })
    this.#tell({ kind: 'stands', moment, isBack: true })
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
