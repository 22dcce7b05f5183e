/** Who waits for news of the logbook. */
export class Watchers {
  readonly #waiting = new Set<() => void>()
  #closed = false

  /** Tells everyone that something changed. */
  notify(): void {
    for (const tell of this.#waiting) tell()
  }

  /** Calls `tell` on every change until the signal is aborted or the desk closes. */
  async until(signal: AbortSignal, tell: () => void): Promise<void> {
    if (signal.aborted || this.#closed) return
    this.#waiting.add(tell)
    await new Promise<void>((resolve) => {
      signal.addEventListener('abort', () => resolve(), { once: true })
      this.#end.add(resolve)
    })
    this.#waiting.delete(tell)
  }

  close(): void {
    this.#closed = true
    for (const end of this.#end) end()
  }

  readonly #end = new Set<() => void>()
}
