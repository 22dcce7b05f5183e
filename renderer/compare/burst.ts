/**
 * What belongs to one step of a history: the changes of one gesture (a drag), however long it rests in between, and
 * changes that follow each other fast (a turning wheel, a held key).
 */
export class Burst {
  readonly #within_ms: number
  #last_ms = -Infinity
  #gesture: object | null = null

  /** @param within_ms changes that follow each other no later than this are one step */
  constructor(within_ms: number) {
    this.#within_ms = within_ms
  }

  /** Whether a change goes on with the step before it. A gesture is told by its own object, from first to last. */
  goesOn(now_ms: number, gesture: object | null = null): boolean {
    const goesOn = gesture ? gesture === this.#gesture : now_ms - this.#last_ms <= this.#within_ms
    this.#last_ms = now_ms
    if (gesture || !goesOn) this.#gesture = gesture
    return goesOn
  }

  /** The next change begins a step of its own. */
  end(): void {
    this.#last_ms = -Infinity
    this.#gesture = null
  }
}
