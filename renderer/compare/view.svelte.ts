/** A part of the common clock, which is A's; B's times are moved by the alignment. */
export interface Span {
  readonly t0_s: number
  readonly t1_s: number
}

/** Nothing is shown closer than this. */
const SHORTEST_S = 0.004
/** Changes that follow each other this fast are one step of the history. */
const BURST_MS = 600

/** The visible span, with the way back and forward through earlier ones. */
export class View {
  span = $state.raw<Span>({ t0_s: 0, t1_s: 1 })
  whole = $state.raw<Span>({ t0_s: 0, t1_s: 1 })
  #past = $state.raw<readonly Span[]>([])
  #future = $state.raw<readonly Span[]>([])
  #lastChange_ms = -Infinity

  readonly canGoBack = $derived(this.#past.length > 0)
  readonly canGoForward = $derived(this.#future.length > 0)
  readonly isWhole = $derived(this.span.t0_s <= this.whole.t0_s && this.span.t1_s >= this.whole.t1_s)

  /** Starts over with a new whole. */
  reset(whole: Span, span: Span = whole): void {
    this.whole = whole
    this.span = span
    this.#past = []
    this.#future = []
  }

  /** Shows a span, kept within the whole; a burst of changes (a turning wheel) is one step back. */
  show(span: Span, now_ms = performance.now()): void {
    const next = this.#within(span)
    if (next.t0_s === this.span.t0_s && next.t1_s === this.span.t1_s) return
    if (now_ms - this.#lastChange_ms > BURST_MS) this.#past = [...this.#past.slice(-99), this.span]
    this.#future = []
    this.#lastChange_ms = now_ms
    this.span = next
  }

  /** Zooms about a time that stays where it is. A factor below 1 shows less. */
  zoom(factor: number, about_s = (this.span.t0_s + this.span.t1_s) / 2): void {
    const { t0_s, t1_s } = this.span
    this.show({ t0_s: about_s + (t0_s - about_s) * factor, t1_s: about_s + (t1_s - about_s) * factor })
  }

  /** Moves by a share of what is visible. */
  pan(share: number): void {
    const by_s = (this.span.t1_s - this.span.t0_s) * share
    this.show({ t0_s: this.span.t0_s + by_s, t1_s: this.span.t1_s + by_s })
  }

  showWhole(): void {
    this.show(this.whole)
  }

  back(): void {
    const before = this.#past.at(-1)
    if (!before) return
    this.#past = this.#past.slice(0, -1)
    this.#future = [this.span, ...this.#future]
    this.#jump(before)
  }

  forward(): void {
    const next = this.#future[0]
    if (!next) return
    this.#future = this.#future.slice(1)
    this.#past = [...this.#past, this.span]
    this.#jump(next)
  }

  #jump(span: Span): void {
    this.span = span
    this.#lastChange_ms = -Infinity
  }

  #within({ t0_s, t1_s }: Span): Span {
    const whole_s = this.whole.t1_s - this.whole.t0_s
    const length_s = Math.min(whole_s, Math.max(SHORTEST_S, t1_s - t0_s))
    const middle_s = (t0_s + t1_s) / 2
    const start_s = Math.min(
      Math.max(length_s === t1_s - t0_s ? t0_s : middle_s - length_s / 2, this.whole.t0_s),
      this.whole.t1_s - length_s,
    )
    return { t0_s: start_s, t1_s: start_s + length_s }
  }
}
