import { proxy } from 'comlink'
import type { Alignment } from '../../workers/align/align.ts'
import { flyingCaution, type SpanMeasures } from '../../workers/comparison/flight-measures.ts'
import {
  commonSpan,
  errorRange,
  rateRange,
  wholeSpan,
  type RateRange,
} from '../../workers/comparison/ranges.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import { AXES, perAxis, type Axis, type PerAxis } from '../../workers/flight/axes.ts'
import { commonLevelRange } from '../../workers/picture/ranges.ts'
import { isProblem, type Problem } from '../../workers/log/problems.ts'
import { laneOr } from '../work/lane-cache.ts'
import { Latest } from '../work/latest.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { nameOfPair, restoreView } from './kept-view.ts'
import { loadFlight, type LoadedFlight } from './load-flight.ts'
import { VerdictOf } from '../verdict/verdict.svelte.ts'
import { viewKeeper } from './view-keeper.ts'
import { View } from './view.svelte.ts'

export type Side = 'a' | 'b'
export const SIDES: readonly Side[] = ['a', 'b']
/** What an axis' row draws. */
export type Rates = 'setpoint and gyro' | 'error'
export type Arrangement = 'overlaid' | 'beside'

/** Frames per lane: about two a drawn column of a wide window. */
const LANE_COLUMNS = 900
/** A view counts as settled after this, so that a turning wheel does not start a computation per notch. */
const SETTLE_MS = 140

/** Two flights on one clock: what is loaded, how B lies over A, what is seen, and what was computed of it. */
export class Comparison {
  a = $state.raw<LoadedFlight | null>(null)
  b = $state.raw<LoadedFlight | null>(null)
  loading = $state({ phase: 'Loading both flights', done: 0 })
  problem = $state('')

  /** What the automatic alignment found; the offset in force may have been changed by hand since. */
  alignment = $state.raw<Alignment | null>(null)
  /** Added to B's times so that they lie on A's clock. */
  offset_s = $state(0)
  readonly byHand = $derived(this.alignment !== null && this.offset_s !== this.alignment.offset_s)

  arrangement = $state<Arrangement>('overlaid')
  /** Which rows there are, and what the axes' rows draw. */
  shows = $state({ rates: 'setpoint and gyro' as Rates, lanes: true, throttle: true, motors: false })
  readonly view = new View()
  /** Like for like, over the whole of both flights; begun when somebody looks at it. */
  readonly verdict = new VerdictOf()
  /** The common clock's time under the pointer, or where the keys put it; null when there is none. */
  cursor_s = $state<number | null>(null)
  /** Two fixed marks on the common clock. */
  marks_s = $state<[number | null, number | null]>([null, null])
  /** The frequency under the pointer, and the axis whose spectrograms it points at. */
  pointed = $state.raw<{ readonly axis: Axis; readonly f_hz: number } | null>(null)

  measures = $state.raw<SpanMeasures | null>(null)
  measuring = $state(false)
  readonly flyingCaution = $derived(this.measures && flyingCaution(this.measures))

  lanes = $state.raw<Readonly<Record<Side, PerAxis<Lane | null>>>>({
    a: perAxis(() => null),
    b: perAxis(() => null),
  })
  /** Share of the spectrograms under way that is done; null when none is. */
  lanesDone = $state<number | null>(null)
  /** One range of levels for all lanes; it stays while the view moves, so that colours keep their meaning. */
  range_db = $state.raw<{ readonly min_db: number; readonly max_db: number } | null>(null)

  /** One locked scale per axis for both flights; it stays while the view moves. */
  scales = $state.raw<PerAxis<RateRange> | null>(null)

  readonly #stop = new AbortController()
  #stopLanes = new AbortController()
  readonly #latestMeasures = new Latest(SETTLE_MS)
  readonly #latestLanes = new Latest(SETTLE_MS)

  /** Loads both flights and lays B over A. Problems are shown, not thrown. */
  async load(a: number, b: number): Promise<void> {
    await this.#orSay(async () => {
      const done = { a: 0, b: 0 }
      const report = (side: Side) => (share: number) => {
        done[side] = share
        this.loading = { phase: 'Loading both flights', done: (done.a + done.b) / 2 }
      }
      const [before, after] = await Promise.all([
        loadFlight(a, this.#stop.signal, report('a')),
        loadFlight(b, this.#stop.signal, report('b')),
      ])
      this.loading = { phase: 'Laying B over A', done: 1 }
      const alignment = await comparisonWorkers.run(
        (worker) => worker.align(before.signals, after.signals),
        this.#stop.signal,
      )
      const kept = await viewKeeper.find(nameOfPair(before.detail, after.detail))
      this.alignment = alignment
      this.offset_s = alignment.offset_s
      this.a = before
      this.b = after
      const whole = wholeSpan(before.signals, after.signals, alignment.offset_s)
      this.view.reset(whole, commonSpan(before.signals, after.signals, alignment.offset_s) ?? whole)
      if (kept) restoreView(this, kept)
      this.fitScales()
    })
  }

  /** Lets go of everything: what is under way is aborted. */
  close(): void {
    this.#stop.abort()
    this.#stopLanes.abort()
    this.#latestLanes.drop()
    this.#latestMeasures.drop()
    this.verdict.close()
  }

  /** Sets a mark where the cursor is, or takes it away when it stands there already. */
  mark(which: 0 | 1): void {
    const next: [number | null, number | null] = [...this.marks_s]
    next[which] = next[which] === this.cursor_s ? null : this.cursor_s
    this.marks_s = next
  }

  flight(side: Side): LoadedFlight | null {
    return side === 'a' ? this.a : this.b
  }

  /** What is added to a flight's own time to lie on the common clock. */
  shift_s(side: Side): number {
    return side === 'a' ? 0 : this.offset_s
  }

  /** Moves B by hand; the whole follows, so that its ends stay reachable. */
  setOffset(offset_s: number): void {
    if (!this.a || !this.b || !Number.isFinite(offset_s)) return
    this.offset_s = offset_s
    this.view.whole = wholeSpan(this.a.signals, this.b.signals, offset_s)
  }

  /** Goes back to what the automatic alignment found. */
  alignAutomatically(): void {
    if (this.alignment) this.setOffset(this.alignment.offset_s)
  }

  /** Computes measures and spectrograms of what is visible, once the view has settled. */
  compute(): void {
    const { a, b, offset_s } = this
    if (!a || !b) return
    const { t0_s, t1_s } = this.view.span
    this.#latestMeasures.ask(() =>
      this.#orSay(async () => {
        this.measuring = true
        try {
          this.measures = await comparisonWorkers.run(
            (worker) => worker.measure(a.signals, b.signals, offset_s, t0_s, t1_s),
            this.#stop.signal,
          )
        } finally {
          this.measuring = false
        }
      }),
    )
    if (this.shows.lanes) this.#latestLanes.ask(() => this.#computeLanes(a, b, offset_s, t0_s, t1_s))
  }

  /** Draws setpoint and gyro, or the error between them, on a scale that fits. */
  showRates(rates: Rates): void {
    this.shows.rates = rates
    this.fitScales()
  }

  /** Fits the rows' scales to what is visible of both flights. */
  fitScales(): void {
    const { a, b, offset_s } = this
    if (!a || !b) return
    const { t0_s, t1_s } = this.view.span
    const visible = [
      { flight: a, t0_s, t1_s },
      { flight: b, t0_s: t0_s - offset_s, t1_s: t1_s - offset_s },
    ]
    const rangeOf = this.shows.rates === 'error' ? errorRange : rateRange
    this.scales = perAxis((axis) => rangeOf(visible, axis))
  }

  /** Fits the range of levels to what is visible of both flights. */
  fitRange(): void {
    this.range_db = commonLevelRange(
      SIDES.flatMap((side) => AXES.flatMap((axis) => this.lanes[side][axis] ?? [])),
    )
  }

  cancelLanes(): void {
    this.#latestLanes.drop()
    this.#stopLanes.abort()
  }

  async #computeLanes(
    a: LoadedFlight,
    b: LoadedFlight,
    offset_s: number,
    t0_s: number,
    t1_s: number,
  ): Promise<void> {
    this.#stopLanes = new AbortController()
    const signal = AbortSignal.any([this.#stop.signal, this.#stopLanes.signal])
    const jobs = AXES.flatMap((axis) => [
      { side: 'a' as const, axis, flight: a, shift_s: 0 },
      { side: 'b' as const, axis, flight: b, shift_s: offset_s },
    ])
    const done = new Array<number>(jobs.length).fill(0)
    // A worker's last words may arrive after its result: they must not bring the bar back.
    let over = false
    const tell = () => {
      if (!over) this.lanesDone = done.reduce((sum, share) => sum + share, 0) / jobs.length
    }
    tell()
    await this.#orSay(async () => {
      try {
        const found = await Promise.all(
          jobs.map(async ({ side, axis, flight, shift_s }, index) => {
            const [from_s, to_s] = [t0_s - shift_s, t1_s - shift_s]
            const lane = await laneOr(flight.detail, `gyro.${axis}`, from_s, to_s, LANE_COLUMNS, () =>
              comparisonWorkers.run(
                (worker) =>
                  worker.lane(
                    flight.signals,
                    axis,
                    from_s,
                    to_s,
                    LANE_COLUMNS,
                    proxy((share: number) => {
                      done[index] = share
                      tell()
                    }),
                  ),
                signal,
              ),
            )
            return { side, axis, lane }
          }),
        )
        const laneOf = (side: Side, axis: Axis) =>
          found.find((one) => one.side === side && one.axis === axis)?.lane ?? null
        this.lanes = { a: perAxis((axis) => laneOf('a', axis)), b: perAxis((axis) => laneOf('b', axis)) }
        // What is seen at once comes first; the verdict takes seconds.
        void this.verdict.begin(a, b)
        this.range_db ??= commonLevelRange(found.flatMap(({ lane }) => lane ?? []))
      } finally {
        over = true
        this.lanesDone = null
      }
    })
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      if ((error satisfies Problem).code !== 'cancelled') this.problem = error.message
    }
  }
}
