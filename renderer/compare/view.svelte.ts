import { Burst } from './burst.ts'

/** A part of the common clock, which is A's; B's times are moved by the alignment. */
export interface Span {
  readonly t0_s: number
  readonly t1_s: number
}

/** The part of a row's fitted scale that is shown, from its lower to its upper end as shares 0..1. */
export interface Part {
  readonly from: number
  readonly to: number
}

/** A step of the way back and forward: what was shown in time, value and frequency. */
interface Shown {
  readonly span: Span
  readonly values: Readonly<Record<string, Part>>
  readonly frequencies: Part
}

/** Nothing is shown closer than this. */
const SHORTEST_S = 0.004
/** A row's scale and the frequency axis are not drawn out further than this share. */
const LEAST_PART = 0.01
/** Changes that follow each other this fast are one step of the history. */
const BURST_MS = 600
const ALL: Part = { from: 0, to: 1 }

/** What is visible in time, value and frequency, with the way back and forward through earlier views. */
export class View {
  span = $state.raw<Span>({ t0_s: 0, t1_s: 1 })
  whole = $state.raw<Span>({ t0_s: 0, t1_s: 1 })
  /** Rows whose scale is drawn out. */
  values = $state.raw<Readonly<Record<string, Part>>>({})
  /** The part of 0 Hz to half the lower sample rate that the spectrograms show. */
  frequencies = $state.raw<Part>(ALL)
  #past = $state.raw<readonly Shown[]>([])
  #future = $state.raw<readonly Shown[]>([])
  readonly #burst = new Burst(BURST_MS)

  readonly canGoBack = $derived(this.#past.length > 0)
  readonly canGoForward = $derived(this.#future.length > 0)
  readonly isWhole = $derived(
    this.span.t0_s <= this.whole.t0_s && this.span.t1_s >= this.whole.t1_s && !this.isDrawnOut,
  )

  /** True while a row's scale or the frequency axis is drawn out. */
  get isDrawnOut(): boolean {
    return Object.keys(this.values).length > 0 || this.frequencies.from > 0 || this.frequencies.to < 1
  }

  /** Starts over with a new whole. */
  reset(whole: Span, span: Span = whole): void {
    this.whole = whole
    this.span = span
    this.values = {}
    this.frequencies = ALL
    this.#past = []
    this.#future = []
  }

  /** Shows a span, kept within the whole; a burst of changes (a turning wheel), or a gesture's, are one step back. */
  show(span: Span, now_ms = performance.now(), gesture: object | null = null): void {
    const next = this.#within(span)
    if (next.t0_s === this.span.t0_s && next.t1_s === this.span.t1_s) return
    this.#step(now_ms, gesture)
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

  /** The part of a row's scale that is shown. */
  valuesOf(row: string): Part {
    return this.values[row] ?? ALL
  }

  /** Shows a part of a row's scale; the whole of it forgets the row. */
  showValues(row: string, part: Part, now_ms = performance.now(), gesture: object | null = null): void {
    const next = partWithin(part)
    const now = this.valuesOf(row)
    if (next.from === now.from && next.to === now.to) return
    this.#step(now_ms, gesture)
    const values = { ...this.values, [row]: next }
    if (next.from <= 0 && next.to >= 1) delete values[row]
    this.values = values
  }

  /** Shows a part of the frequency axis. */
  showFrequencies(part: Part, now_ms = performance.now(), gesture: object | null = null): void {
    const next = partWithin(part)
    if (next.from === this.frequencies.from && next.to === this.frequencies.to) return
    this.#step(now_ms, gesture)
    this.frequencies = next
  }

  /** Lets go of what is drawn out in value; the span stays. */
  resetValues(): void {
    if (Object.keys(this.values).length === 0) return
    this.#step(performance.now())
    this.values = {}
  }

  /** All of both flights, in time, value and frequency. */
  showWhole(): void {
    this.show(this.whole)
    this.resetValues()
    this.showFrequencies(ALL)
  }

  back(): void {
    const before = this.#past.at(-1)
    if (!before) return
    this.#past = this.#past.slice(0, -1)
    this.#future = [this.#shown(), ...this.#future]
    this.#jump(before)
  }

  forward(): void {
    const next = this.#future[0]
    if (!next) return
    this.#future = this.#future.slice(1)
    this.#past = [...this.#past, this.#shown()]
    this.#jump(next)
  }

  #shown(): Shown {
    return { span: this.span, values: this.values, frequencies: this.frequencies }
  }

  /** Remembers what is shown before it changes, unless this change belongs to the burst before it. */
  #step(now_ms: number, gesture: object | null = null): void {
    if (!this.#burst.goesOn(now_ms, gesture)) this.#past = [...this.#past.slice(-99), this.#shown()]
    if (this.#future.length > 0) this.#future = []
  }

  #jump({ span, values, frequencies }: Shown): void {
    this.span = span
    this.values = values
    this.frequencies = frequencies
    this.#burst.end()
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

/** Zooms a part about a share of what it shows; a factor below 1 shows less. */
export function zoomPart({ from, to }: Part, factor: number, about: number): Part {
  const at = from + about * (to - from)
  return { from: at + (from - at) * factor, to: at + (to - at) * factor }
}

function partWithin({ from, to }: Part): Part {
  const length = Math.min(1, Math.max(LEAST_PART, to - from))
  const start = Math.min(1 - length, Math.max(0, length === to - from ? from : (from + to - length) / 2))
  return { from: start, to: start + length }
}
