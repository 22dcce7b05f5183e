import { flyingCaution, type SpanMeasures } from '../../workers/comparison/flight-measures.ts'
import { commonSpan, wholeSpan } from '../../workers/comparison/ranges.ts'
import type { Axis } from '../../workers/flight/axes.ts'
import { channelEntries, type ChannelName } from '../../workers/flight/signals.ts'
import { isProblem, type Problem } from '../../workers/log/problems.ts'
import { Latest } from '../work/latest.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { nameOfPair, restoreView } from './kept-view.ts'
import { Lanes } from './lanes.svelte.ts'
import { layOver } from './lay-over.ts'
import { loadFlight, type LoadedFlight } from './load-flight.ts'
import { VerdictOf } from '../verdict/verdict.svelte.ts'
import { Offset, type OffsetFrom } from './offset.svelte.ts'
import { RotorOverlay } from './rotor-overlay.svelte.ts'
import { Rows } from './rows.svelte.ts'
import { Scales } from './scales.svelte.ts'
import { edgesOf } from './steps.ts'
import { viewKeeper } from './view-keeper.ts'
import { View } from './view.svelte.ts'

export type Side = 'a' | 'b'
export const SIDES: readonly Side[] = ['a', 'b']
export type Arrangement = 'overlaid' | 'beside'
/** One line of one flight. */
export interface Trace {
  readonly side: Side
  readonly channel: ChannelName
}

/** A view counts as settled after this, so that a turning wheel does not start a computation per notch. */
const SETTLE_MS = 140

/** Two flights on one clock: what is loaded, how B lies over A, what is seen, and what was computed of it. */
export class Comparison {
  a = $state.raw<LoadedFlight | null>(null)
  b = $state.raw<LoadedFlight | null>(null)
  loading = $state({ phase: 'Loading both flights', done: 0 })
  problem = $state('')

  readonly offset = new Offset(() => this.#keepEndsReachable())
  /** Added to B's times so that they lie on A's clock. */
  get offset_s(): number {
    return this.offset.value_s
  }
  get alignment() {
    return this.offset.alignment
  }
  get byHand(): boolean {
    return this.offset.from === 'hand'
  }

  arrangement = $state<Arrangement>('overlaid')
  readonly view = new View()
  readonly rows = new Rows()
  readonly scales = new Scales(this.rows, this.view)
  readonly lanes = new Lanes()
  readonly rotors = new RotorOverlay()
  /** Like for like, over the whole of both flights; begun when somebody looks at it. */
  readonly verdict = new VerdictOf()
  /** The common clock's time under the pointer, or where the keys put it; null when there is none. */
  cursor_s = $state<number | null>(null)
  /** What the cursor snapped to, in words; empty when it stands where the pointer is. */
  snappedTo = $state('')
  /** Whether the cursor snaps to begin, stop and end of manoeuvres. */
  snap = $state(true)
  /** Where it may snap to. */
  readonly edges = $derived(edgesOf(this))
  /** Two fixed marks on the common clock. */
  marks_s = $state<[number | null, number | null]>([null, null])
  /** The frequency under the pointer, and the axis whose spectrograms it points at. */
  pointed = $state.raw<{ readonly axis: Axis; readonly f_hz: number } | null>(null)
  /** The one trace that stands out; null when all do. */
  alone = $state.raw<Trace | null>(null)

  measures = $state.raw<SpanMeasures | null>(null)
  measuring = $state(false)
  readonly flyingCaution = $derived(this.measures && flyingCaution(this.measures))

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
      // All of it together: each alone would wait for an answer.
      const [alignment, kept] = await Promise.all([
        layOver(before, after, this.#stop.signal),
        viewKeeper.find(nameOfPair(before.detail, after.detail)),
        this.rows.begin(
          [before, after].flatMap(({ signals }) => channelEntries(signals).map(([name]) => name)),
        ),
        this.lanes.begin(),
      ])
      this.offset.begin(alignment)
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
    this.setMark(which, this.marks_s[which] === this.cursor_s ? null : this.cursor_s)
  }

  setMark(which: 0 | 1, t_s: number | null): void {
    const next: [number | null, number | null] = [...this.marks_s]
    next[which] = t_s
    this.marks_s = next
  }

  /** Lets one trace stand out; the same again lets all stand out. */
  isolate(trace: Trace | null): void {
    const same = trace && this.alone?.side === trace.side && this.alone.channel === trace.channel
    this.alone = same ? null : trace
  }

  flight(side: Side): LoadedFlight | null {
    return side === 'a' ? this.a : this.b
  }

  /** What is added to a flight's own time to lie on the common clock. */
  shift_s(side: Side): number {
    return side === 'a' ? 0 : this.offset_s
  }

  /** The highest frequency that both flights' spectrograms have. */
  get fMax_hz(): number {
    return Math.min(this.a?.signals.rate_hz ?? 0, this.b?.signals.rate_hz ?? 0) / 2
  }

  /** The range of levels that all spectrograms have. */
  get range_db() {
    return this.lanes.range_db
  }

  /** Moves B; undo takes it back, all that one gesture moved at once. */
  setOffset(offset_s: number, from: OffsetFrom = 'hand', gesture: object | null = null): void {
    if (this.a && this.b) this.offset.set(offset_s, from, performance.now(), gesture)
  }

  /** Goes back to what the automatic alignment found. */
  alignAutomatically(): void {
    if (this.alignment) this.setOffset(this.alignment.offset_s, 'sticks')
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
    const lanesShown = this.rows.lanesShown
    this.#latestLanes.ask(() =>
      this.#orSay(async () => {
        this.#stopLanes = new AbortController()
        const signal = AbortSignal.any([this.#stop.signal, this.#stopLanes.signal])
        if (lanesShown) await this.lanes.compute({ a, b, offset_s, t0_s, t1_s }, signal)
        // What is seen at once comes first; the verdict takes seconds.
        void this.verdict.begin(a, b)
      }),
    )
  }

  /** Shows both flights' spectrograms, one, or their difference. */
  showLanes(show: Lanes['show']): void {
    this.lanes.set({ show })
    if (show === 'difference') void this.#orSay(() => this.lanes.compare(this.#stop.signal))
  }

  /** Lays the motors' lines over the spectrograms, or takes them away. */
  showRotorLines(lines: boolean): void {
    this.lanes.set({ lines })
    this.findRotorLines()
  }

  /** Looks for the motors' lines where they are wanted and not known yet. */
  findRotorLines(): void {
    const { a, b } = this
    if (a && b && this.lanes.lines) void this.#orSay(() => this.rotors.look({ a, b }, this.#stop.signal))
  }

  /** Fits the rows' scales to what is visible of both flights. */
  fitScales(): void {
    const { a, b, offset_s } = this
    if (!a || !b) return
    const { t0_s, t1_s } = this.view.span
    this.scales.fit({
      a: { flight: a, t0_s, t1_s },
      b: { flight: b, t0_s: t0_s - offset_s, t1_s: t1_s - offset_s },
    })
    this.view.resetValues()
  }

  cancelLanes(): void {
    this.#latestLanes.drop()
    this.#stopLanes.abort()
  }

  /** The whole follows B, so that its ends stay reachable. */
  #keepEndsReachable(): void {
    if (this.a && this.b) this.view.whole = wholeSpan(this.a.signals, this.b.signals, this.offset_s)
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
