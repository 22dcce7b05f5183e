/** One change of something stored, and how it is taken back and made again. */
export interface Undoable {
  /** What was done, as a phrase that follows "Undo": `leave out a pair`. */
  readonly name: string
  readonly undo: () => Promise<void> | void
  readonly redo: () => Promise<void> | void
}

const MOST = 200

/** A change on its way back, or on its way to be made again. */
interface Step {
  readonly change: Undoable
  readonly way: 'undo' | 'redo'
}

const without = <T>(list: readonly T[], one: T): readonly T[] => list.filter((other) => other !== one)

/**
 * What was done in this window, newest last. Whoever changes something stored carries the change out and then tells
 * it here; undo and redo run one after another, never two at once. Which change is meant is settled when an undo or a
 * redo is asked for, not when its turn comes: both lists are changed at once, so that a redo asked for while the undo
 * before it is on its way finds what that one takes back.
 */
export class UndoStack {
  #done = $state.raw<readonly Undoable[]>([])
  #undone = $state.raw<readonly Undoable[]>([])
  /** Asked for and not carried out yet, in order. */
  #asked: readonly Step[] = []
  #running: Promise<unknown> = Promise.resolve()
  /** In which order the changes were made. */
  readonly #order = new WeakMap<Undoable, number>()
  #told = 0

  readonly nextUndo = $derived(this.#done.at(-1) ?? null)
  readonly nextRedo = $derived(this.#undone.at(-1) ?? null)

  /** Tells of a change that has been made. What had been undone can't be redone after it. */
  did(change: Undoable): void {
    this.#order.set(change, this.#told++)
    this.#done = [...this.#done, change].slice(-MOST)
    this.#undone = []
  }

  /**
   * Takes the newest change back. When that fails the change stays where it was, the failure is thrown, and what was
   * asked for after it is given up.
   *
   * @returns whether it was taken back: not when there was none, or when one asked for earlier failed
   */
  undo(): Promise<boolean> {
    return this.#ask(this.nextUndo, 'undo')
  }

  /** Makes the change again that was taken back last; otherwise as {@link undo}. */
  redo(): Promise<boolean> {
    return this.#ask(this.nextRedo, 'redo')
  }

  /** Lets go of a change that can't be taken back (what it changed is gone), so that the ones before it can. */
  skip(change: Undoable): void {
    this.#asked = this.#asked.filter((step) => step.change !== change)
    this.#done = without(this.#done, change)
    this.#undone = without(this.#undone, change)
  }

  /** Moves a change to the list where it stands once the step is carried out, in the order the changes were made. */
  #move({ change, way }: Step): void {
    const at = this.#order.get(change)!
    this.#done = without(this.#done, change)
    this.#undone = without(this.#undone, change)
    const newer = (other: Undoable) => this.#order.get(other)! > at
    if (way === 'redo') {
      this.#done = [...this.#done.filter((one) => !newer(one)), change, ...this.#done.filter(newer)]
      // After something newer was done it can't be made again.
    } else if (!this.#done.some(newer)) this.#undone = [...this.#undone, change]
  }

  #ask(change: Undoable | null, way: Step['way']): Promise<boolean> {
    if (!change) return this.#running.then(() => false)
    const step: Step = { change, way }
    this.#move(step)
    this.#asked = [...this.#asked, step]
    const turn = this.#running.then(async () => {
      if (!this.#asked.includes(step)) return false
      try {
        await step.change[step.way]()
      } catch (error) {
        this.#giveUp()
        throw error
      }
      this.#asked = without(this.#asked, step)
      return true
    })
    // A failure is the caller's to show; the next one's turn comes all the same.
    this.#running = turn.catch(() => undefined)
    return turn
  }

  /** All that is asked for stays undone: back to the lists as they were, newest asked first. */
  #giveUp(): void {
    for (const { change, way } of this.#asked.toReversed()) {
      this.#move({ change, way: way === 'undo' ? 'redo' : 'undo' })
    }
    this.#asked = []
  }
}

export const undoStack = new UndoStack()
