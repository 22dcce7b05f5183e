import { proxy } from 'comlink'
import type { ManoeuvreEdit } from '../../workers/manoeuvre/manoeuvre.ts'
import type { Comparison as Verdict } from '../../workers/verdict/comparison.ts'
import type { MeasureId } from '../../workers/verdict/measures.ts'
import type { PerAxis } from '../../workers/flight/axes.ts'
import type { Watch } from '../../workers/verdict/stick-or-rest.ts'
import { isProblem } from '../../workers/log/problems.ts'
import type { Side } from '../compare/comparison.svelte.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { verdictOr } from './kept-verdict.ts'
import { keepDeltas, keepEdits, loadDeltas, loadEdits, type Deltas } from './choices.ts'

type Edits = Readonly<Record<Side, readonly ManoeuvreEdit[]>>

/** The verdict on a pair of flights, over the whole of both, with what the pilot decided about its manoeuvres. */
export class VerdictOf {
  found = $state.raw<Verdict | null>(null)
  /** Both flights made ready to be asked what the stick explains; null until then. */
  watches = $state.raw<Readonly<Record<Side, PerAxis<Watch | null>>> | null>(null)
  working = $state<{ done: number; doing: string } | null>(null)
  problem = $state('')
  edits = $state.raw<Edits>({ a: [], b: [] })
  deltas = $state.raw<Deltas>({})
  /** The manoeuvre that is looked at. */
  chosen = $state.raw<{ readonly side: Side; readonly id: string } | null>(null)
  #past = $state.raw<readonly Edits[]>([])
  readonly canUndo = $derived(this.#past.length > 0)
  #flights: Readonly<Record<Side, LoadedFlight>> | null = null
  #stop = new AbortController()
  readonly #end = new AbortController()

  /** Begins, unless it has begun already. */
  async begin(a: LoadedFlight, b: LoadedFlight): Promise<void> {
    if (this.#flights) return
    this.#flights = { a, b }
    await this.#orSay(async () => {
      this.edits = { a: await loadEdits(a.detail.contentHash), b: await loadEdits(b.detail.contentHash) }
      this.deltas = await loadDeltas()
    })
    await this.again()
    await this.#orSay(async () => {
      const [ofA, ofB] = await Promise.all(
        [a, b].map(({ signals }) =>
          comparisonWorkers.run((worker) => worker.watch(signals), this.#end.signal),
        ),
      )
      if (ofA && ofB) this.watches = { a: ofA, b: ofB }
    })
  }

  /** Lets go of everything that is under way. */
  close(): void {
    this.#stop.abort()
    this.#end.abort()
  }

  /** Computes anew: after an edit, or after it was cancelled or failed. A computation under way is stopped. */
  async again(): Promise<void> {
    if (!this.#flights) return
    const { a, b } = this.#flights
    this.#stop.abort()
    const stop = new AbortController()
    this.#stop = stop
    this.problem = ''
    this.working = { done: 0, doing: 'Comparing like with like' }
    await this.#orSay(async () => {
      const { edits, deltas } = this
      const found = await verdictOr(a, b, { edits, deltas }, () =>
        comparisonWorkers.run(
          (worker) =>
            worker.verdict(
              a.signals,
              b.signals,
              edits,
              deltas,
              proxy((done: number, doing: string) => {
                // A worker's last words may come after its result, or after another computation has begun.
                if (this.#stop === stop && this.working) this.working = { done, doing }
              }),
            ),
          stop.signal,
        ),
      )
      if (this.#stop === stop) this.found = found
    })
    if (this.#stop === stop) this.working = null
  }

  cancel(): void {
    this.#stop.abort()
  }

  /** Puts a manoeuvre's kind right or leaves it out; without either the detection's own word holds again. */
  async edit(side: Side, edit: ManoeuvreEdit): Promise<void> {
    this.#past = [...this.#past, this.edits]
    const others = this.edits[side].filter(({ id }) => id !== edit.id)
    const says = edit.kind !== undefined || edit.leaveOut === true
    await this.#takeEdits({ ...this.edits, [side]: says ? [...others, edit] : others })
  }

  async undo(): Promise<void> {
    const before = this.#past.at(-1)
    if (!before) return
    this.#past = this.#past.slice(0, -1)
    await this.#takeEdits(before)
  }

  /** Sets the smallest difference that matters of a measure; null goes back to the usual one. */
  async setDelta(id: MeasureId, delta: number | null): Promise<void> {
    const deltas = { ...this.deltas }
    if (delta === null) delete deltas[id]
    else deltas[id] = delta
    this.deltas = deltas
    await this.#orSay(() => keepDeltas(this.deltas))
    await this.again()
  }

  async #takeEdits(edits: Edits): Promise<void> {
    this.edits = edits
    await this.#orSay(async () => {
      if (!this.#flights) return
      await keepEdits(this.#flights.a.detail.contentHash, edits.a)
      await keepEdits(this.#flights.b.detail.contentHash, edits.b)
    })
    await this.again()
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code !== 'cancelled') this.problem = error.message
    }
  }
}
