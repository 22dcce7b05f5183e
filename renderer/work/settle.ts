/**
 * Acts once nothing has asked for a while; each further ask puts it off. Only one timer is set meanwhile, which looks
 * at the clock when it fires: what moves asks at every frame, and a timer set and cleared for each of them costs more.
 */
export class Settle {
  readonly #settle_ms: number
  readonly #act: () => void
  #timer: ReturnType<typeof setTimeout> | undefined
  #due_ms = 0

  constructor(settle_ms: number, act: () => void) {
    this.#settle_ms = settle_ms
    this.#act = act
  }

  ask(): void {
    this.#due_ms = performance.now() + this.#settle_ms
    this.#timer ??= setTimeout(this.#look, this.#settle_ms)
  }

  /** Forgets what was asked for. */
  drop(): void {
    clearTimeout(this.#timer)
    this.#timer = undefined
  }

  readonly #look = (): void => {
    this.#timer = undefined
    const left_ms = this.#due_ms - performance.now()
    // Timers count in whole milliseconds: half a one is not worth another round.
    if (left_ms > 0.5) this.#timer = setTimeout(this.#look, left_ms)
    else this.#act()
  }
}
