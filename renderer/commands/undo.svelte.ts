/** One change of something stored, and how it is taken back and made again. */
export interface Undoable {
  /** What was done, as a phrase that follows "Undo": `leave out a pair`. */
  readonly name: string
  readonly undo: () => Promise<void> | void
  readonly redo: () => Promise<void> | void
}

const MOST = 200

/**
 * What was done in this window, newest last. Whoever changes something stored carries the change out and then tells
 * it here; undo and redo run one after another, never two at once. Which change an undo takes back is settled when it is
 * asked for: what is done while it waits for its turn is not meant.
 */
export class UndoStack {
  #done = $state.raw<readonly Undoable[]>([])
  #undone = $state.raw<readonly Undoable[]>([])
  /** Asked to be taken back, and not yet. */
  #leaving = $state.raw<readonly Undoable[]>([])
  #running: Promise<void> = Promise.resolve()

  readonly nextUndo = $derived(this.#done.findLast((one) => !this.#leaving.includes(one)) ?? null)
  readonly nextRedo = $derived(this.#undone.at(-1) ?? null)

  /** Tells of a change that has been made. What had been undone can't be redone after it. */
  did(change: Undoable): void {
    this.#done = [...this.#done, change].slice(-MOST)
    this.#undone = []
  }

  /** Takes the newest change back. When that fails the change stays where it was, and the failure is thrown. */
  undo(): Promise<void> {
    const change = this.nextUndo
    if (!change) return this.#running
    this.#leaving = [...this.#leaving, change]
    return this.#inTurn(async () => {
      // One that failed keeps all that were asked for after it.
      if (!this.#leaving.includes(change)) return
      try {
        await change.undo()
      } catch (error) {
        this.#leaving = []
        throw error
      }
      this.#leaving = this.#leaving.filter((one) => one !== change)
      const newest = this.#done.at(-1) === change
      this.#done = this.#done.filter((one) => one !== change)
      // After something newer was done it can't be made again.
      if (newest) this.#undone = [...this.#undone, change]
    })
  }

  /** Lets go of a change that can't be taken back (what it changed is gone), so that the ones before it can. */
  skip(change: Undoable): void {
    this.#done = this.#done.filter((one) => one !== change)
    this.#undone = this.#undone.filter((one) => one !== change)
  }

  redo(): Promise<void> {
    return this.#inTurn(async () => {
      const change = this.#undone.at(-1)
      if (!change) return
      await change.redo()
      this.#undone = this.#undone.filter((one) => one !== change)
      this.#done = [...this.#done, change]
    })
  }

  #inTurn(work: () => Promise<void>): Promise<void> {
    const turn = this.#running.then(work)
    // A failure is the caller's to show; the next one's turn comes all the same.
    this.#running = turn.then(
      () => undefined,
      () => undefined,
    )
    return turn
  }
}

export const undoStack = new UndoStack()
