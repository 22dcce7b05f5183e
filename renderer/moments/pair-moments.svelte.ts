import type { FoundPlace, ListedMoment } from '../../electron/desk/contract/moments.ts'
import type { Place } from '../../workers/moments/moment.ts'
import type { Comparison, Side } from '../compare/comparison.svelte.ts'
import { SIDES } from '../compare/comparison.svelte.ts'
import type { Span } from '../compare/view.svelte.ts'
import type { Comparison as Verdict } from '../../workers/verdict/comparison.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { keepEvidence } from './evidence.ts'
import { offsetOf, onClock, placedIn, placesAt, type FlightOnClock, type PlacedMoment } from './placed.ts'
import { shelf } from './shelf.svelte.ts'

/** Seconds shown around a moment that is gone to; less stays less. */
const AROUND_S = 4
/** More moments than this are not listed beside the plots at once. */
const MOST_LISTED = 120

/** The moments of the two flights that are compared: shown, marked, gone to. */
export class PairMoments {
  all = $state.raw<readonly ListedMoment[]>([])
  chosenId = $state<string | null>(null)
  /** The moment whose editor is to take the focus. */
  focusOn = $state<string | null>(null)
  problem = $state('')
  readonly #comparison: Comparison
  readonly chosen = $derived(this.all.find(({ id }) => id === this.chosenId) ?? null)
  readonly flights: readonly FlightOnClock[] = $derived.by(() =>
    SIDES.flatMap((side) => {
      const detail = this.#comparison.flight(side)?.detail
      return detail ? [onClock(side, detail, this.#comparison.shift_s(side))] : []
    }),
  )
  readonly lines: Readonly<Record<Side, readonly PlacedMoment[]>> = $derived.by(() => {
    const line = (wanted: Side) => {
      const flight = this.flights.find(({ side }) => side === wanted)
      return flight ? placedIn(this.all, flight) : []
    }
    return { a: line('a'), b: line('b') }
  })
  /** Every moment once, by time. */
  readonly inOrder: readonly PlacedMoment[] = $derived.by(() => {
    const seen: Record<string, true> = {}
    const both = [...this.lines.a, ...this.lines.b].sort((one, other) => one.t0_s - other.t0_s)
    return both.filter(({ moment }) => {
      const isNew = !seen[moment.id]
      seen[moment.id] = true
      return isNew
    })
  })

  /** Those that a list has room for: all, or where there are very many the first ones of the visible part. */
  readonly listed: readonly PlacedMoment[] = $derived.by(() => {
    if (this.inOrder.length <= MOST_LISTED) return this.inOrder
    const { t0_s, t1_s } = this.#comparison.view.span
    const visible = this.inOrder.filter((one) => (one.t1_s ?? one.t0_s) >= t0_s && one.t0_s <= t1_s)
    return visible.slice(0, MOST_LISTED)
  })

  constructor(comparison: Comparison) {
    this.#comparison = comparison
  }

  /** Loads the moments of both flights and follows what becomes of them; returns what ends that. */
  follow(): () => void {
    void this.#load()
    return shelf.listen((news) => {
      const id = news.kind === 'gone' ? news.id : news.moment.id
      const others = this.all.filter((one) => one.id !== id)
      if (news.kind === 'gone') {
        this.all = others
        if (this.chosenId === id) this.chosenId = null
        return
      }
      const hashes = this.flights.map(({ contentHash }) => contentHash)
      const isOurs = news.moment.places.some((place) => place.marked && hashes.includes(place.contentHash))
      this.all = isOurs ? [...others, news.moment] : others
    })
  }

  /** Marks a time or a span in the wanted flights, and opens the editor. */
  async mark(wanted: readonly Side[], asSpan: boolean): Promise<void> {
    const places = placesAt(this.flights, wanted, this.#toMark(asSpan))
    if (places.length === 0) {
      const where = wanted.map((side) => side.toUpperCase()).join(' or ')
      this.problem = `${where} has nothing at that time: point at a part of the flight.`
      return
    }
    this.problem = ''
    const id = crypto.randomUUID()
    const moment = { id, places, tags: [], note: '', stars: 0, flyAgain: false, whatToFly: '' }
    const kept = shelf.add(moment, {
      ...moment,
      places: places.map((place) => ({ ...place, ...this.#about(place.side) })),
      createdAt_ms: Date.now(),
      changedAt_ms: Date.now(),
    })
    this.edit(id)
    await kept
  }

  /** Puts a moment that is there already to where the cursor or the marks are. */
  async move(moment: ListedMoment): Promise<void> {
    const wanted = this.sidesOf(moment)
    const places = placesAt(
      this.flights,
      wanted,
      this.#toMark(moment.places.some(({ t1_s }) => t1_s !== null)),
    )
    if (places.length > 0) await shelf.edit(moment, { places })
  }

  /** Marks a moment in other flights of the pair than before. */
  async markIn(moment: ListedMoment, wanted: readonly Side[]): Promise<void> {
    const [first] = this.inOrder.filter((one) => one.moment.id === moment.id)
    if (!first) return
    const places = placesAt(this.flights, wanted, { t0_s: first.t0_s, t1_s: first.t1_s })
    if (places.length > 0) await shelf.edit(moment, { places })
  }

  /** The sides of this pair on which a moment is marked. */
  sidesOf(moment: ListedMoment): Side[] {
    return SIDES.filter((side) => this.lines[side].some((one) => one.moment.id === moment.id))
  }

  edit(id: string): void {
    this.chosenId = id
    this.focusOn = id
  }

  /** Takes the view to a moment; `asMarked` lays the flights as they lay when it was marked. */
  go(moment: ListedMoment, asMarked = false): void {
    const [a, b] = this.flights
    const offset_s = asMarked && a && b ? offsetOf(moment, a, b) : null
    if (offset_s !== null && Math.abs(offset_s - this.#comparison.offset_s) > 1e-4) {
      this.#comparison.setOffset(offset_s)
    }
    const placed = this.inOrder.find((one) => one.moment.id === moment.id)
    if (!placed) return
    this.chosenId = moment.id
    this.#comparison.view.show(this.#around(placed))
    this.#comparison.cursor_s = placed.t0_s
  }

  /** Goes to the next moment (or the one before) from the chosen one, from the cursor, or from where the view begins or ends. */
  step(by: 1 | -1): void {
    const { inOrder } = this
    const at = inOrder.findIndex(({ moment }) => moment.id === this.chosenId)
    const { t0_s, t1_s } = this.#comparison.view.span
    const from_s = this.#comparison.cursor_s ?? (by > 0 ? t0_s : t1_s)
    const next =
      at >= 0
        ? inOrder[at + by]
        : by > 0
          ? inOrder.find((one) => one.t0_s > from_s)
          : inOrder.findLast((one) => one.t0_s < from_s)
    const placed = next ?? (by > 0 ? inOrder.at(-1) : inOrder[0])
    if (placed) this.go(placed.moment)
  }

  /** Keeps what the verdict of the pair said, for the field card. */
  async keepEvidence(verdict: Verdict): Promise<void> {
    const [a, b] = this.flights
    if (a && b) await this.#orSay(() => keepEvidence(a, b, verdict))
  }

  async #load(): Promise<void> {
    await this.#orSay(async () => {
      const contentHashes = this.flights.map(({ contentHash }) => contentHash)
      this.all = (await call('moments.of', { contentHashes })).moments
      const { goal } = shelf
      shelf.goal = null
      if (goal) this.go(goal, true)
    })
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = error.message
    }
  }

  /** What the list says of a flight beside its place. */
  #about(side: Side): Omit<FoundPlace, keyof Place> {
    const { detail } = this.#comparison.flight(side)!
    return {
      flightId: detail.id,
      flightName: detail.name,
      craft: detail.craft,
      flownAt_ms: detail.flownAt_ms,
      flightStart_s: detail.span?.t0_s ?? 0,
      inFlight: true,
    }
  }

  /** The cursor's time; as a span what lies between the two marks, or what is visible. */
  #toMark(asSpan: boolean): { readonly t0_s: number; readonly t1_s: number | null } {
    const { cursor_s, view } = this.#comparison
    if (!asSpan && cursor_s !== null) return { t0_s: cursor_s, t1_s: null }
    const [one, two] = this.#comparison.marks_s
    if (one !== null && two !== null && one !== two)
      return { t0_s: Math.min(one, two), t1_s: Math.max(one, two) }
    return { t0_s: view.span.t0_s, t1_s: view.span.t1_s }
  }

  #around({ t0_s, t1_s }: PlacedMoment): Span {
    const { span } = this.#comparison.view
    const length_s = (t1_s ?? t0_s) - t0_s
    const shown_s = Math.max(Math.min(span.t1_s - span.t0_s, AROUND_S), 1.6 * length_s)
    const middle_s = t0_s + length_s / 2
    return { t0_s: middle_s - shown_s / 2, t1_s: middle_s + shown_s / 2 }
  }
}
