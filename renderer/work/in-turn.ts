/**
 * Long drawing in pieces: one job a task, so that input and the next frame come between them. A job is asked for under
 * its owner's key; asked for again before its turn, the newest takes that turn.
 */
export class InTurn {
  readonly #jobs = new Map<object, () => void>()
  #asked = false

  ask(key: object, job: () => void): void {
    this.#jobs.set(key, job)
    this.#next()
  }

  /** Forgets what waits under a key. */
  drop(key: object): void {
    this.#jobs.delete(key)
  }

  #next(): void {
    if (this.#asked || this.#jobs.size === 0) return
    this.#asked = true
    setTimeout(() => {
      this.#asked = false
      const [first] = this.#jobs
      if (!first) return
      const [key, job] = first
      this.#jobs.delete(key)
      try {
        job()
      } finally {
        this.#next()
      }
    })
  }
}

/** The window's own: everything that draws in pieces shares one row of turns. */
export const inTurn = new InTurn()
