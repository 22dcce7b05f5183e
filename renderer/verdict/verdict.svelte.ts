import { proxy } from 'comlink'
import type { PerAxis } from '../../workers/flight/axes.ts'
import { isProblem } from '../../workers/log/problems.ts'
import type { ManoeuvreEdit, ManoeuvreKind } from '../../workers/manoeuvre/manoeuvre.ts'
import type { Comparison as Verdict, MeasureKey, Pair } from '../../workers/verdict/comparison.ts'
import { VERDICT_MEASURES, type MeasureId } from '../../workers/verdict/measures.ts'
import { REPEAT_METHOD } from '../../workers/verdict/repeat.ts'
import { USUAL_HEADLINE } from '../../workers/verdict/rules.ts'
import type { Watch } from '../../workers/verdict/stick-or-rest.ts'
import type { Side } from '../compare/comparison.svelte.ts'
import { loadFlight, type LoadedFlight } from '../compare/load-flight.ts'
import { comparisonWorkers } from '../work/workers.ts'
import {
  change,
  decide,
  DECLARED,
  editsOf,
  keptChoice,
  onChoice,
  repeatOf,
  USUAL,
  type Change,
  type Declared,
  type RepeatChoice,
} from './choices.ts'
import { verdictOr } from './kept-verdict.ts'
import {
  pairKey,
  pairLines,
  shownMeasures,
  USUAL_ORDER,
  type PairLine,
  type PairOrder,
} from './pair-order.ts'

type Edits = Readonly<Record<Side, readonly ManoeuvreEdit[]>>

/** The verdict on a pair of flights, over the whole of both, with what the pilot decided about it. */
export class VerdictOf {
  found = $state.raw<Verdict | null>(null)
  /** Both flights made ready to be asked what the stick explains; null until then. */
  watches = $state.raw<Readonly<Record<Side, PerAxis<Watch | null>>> | null>(null)
  working = $state<{ done: number; doing: string } | null>(null)
  problem = $state('')
  edits = $state.raw<Edits>({ a: [], b: [] })
  declared = $state.raw<Declared>(USUAL)
  /** A flight with the very settings of A or B; null when none was chosen. */
  repeat = $state.raw<{ readonly flight: LoadedFlight; readonly of: Side } | null>(null)
  repeatProblem = $state('')
  /** The manoeuvre that is looked at. */
  chosen = $state.raw<{ readonly side: Side; readonly id: string } | null>(null)

  order = $state.raw<PairOrder>(USUAL_ORDER)
  /** The measure whose values the list of pairs shows. */
  shownMeasure = $state<MeasureId>('trackingError')
  /** The pair that is looked at, by its key. */
  pairAt = $state<string | null>(null)
  readonly lines: readonly PairLine[] = $derived(
    this.found ? pairLines(this.found, this.shownMeasure, this.order) : [],
  )
  readonly pair: PairLine | null = $derived(this.lines.find(({ key }) => key === this.pairAt) ?? null)
  readonly measuresOfPairs: readonly MeasureId[] = $derived(shownMeasures(this.found?.pairs ?? []))

  readonly headline: readonly MeasureId[] = $derived(this.declared.headline ?? USUAL_HEADLINE)

  #flights: Readonly<Record<Side, LoadedFlight>> | null = null
  #stop = new AbortController()
  #forget: () => void = () => undefined
  readonly #end = new AbortController()

  /** Begins, unless it has begun already. */
  async begin(a: LoadedFlight, b: LoadedFlight): Promise<void> {
    if (this.#flights) return
    this.#flights = { a, b }
    this.#forget = onChoice((key) => this.#follow(key))
    await this.#orSay(async () => {
      this.edits = { a: await keptChoice(editsOf(a.detail)), b: await keptChoice(editsOf(b.detail)) }
      this.declared = await keptChoice(DECLARED)
      await this.#takeRepeat(await keptChoice(this.#repeatChoice()))
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
    this.#forget()
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
    const { deltas, headline, adjust } = this.declared
    await this.#orSay(async () => {
      const repeat = this.repeat && {
        signals: this.repeat.flight.signals,
        of: this.repeat.of,
        edits: await keptChoice(editsOf(this.repeat.flight.detail)),
      }
      const options = { edits: this.edits, deltas, adjust, ...(headline ? { headline } : {}) }
      const kept = {
        ...options,
        repeat: repeat && {
          ...identityOf(this.repeat!.flight),
          of: repeat.of,
          edits: repeat.edits,
          method: REPEAT_METHOD.version,
        },
      }
      const found = await verdictOr(a, b, kept, () =>
        comparisonWorkers.run(
          (worker) =>
            worker.verdict(
              a.signals,
              b.signals,
              options,
              repeat,
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

  /** Calls a manoeuvre something else; undoable. */
  async callIt(side: Side, id: string, kind: ManoeuvreKind): Promise<void> {
    await this.#decide(`call a manoeuvre a ${kind}`, [this.#edit(side, { id, kind })])
  }

  /** Leaves manoeuvres out of the comparison (both of a pair in one step); undoable. */
  async leaveOut(...manoeuvres: readonly { readonly side: Side; readonly id: string }[]): Promise<void> {
    const name = manoeuvres.length > 1 ? 'leave out a pair' : 'leave out a manoeuvre'
    const of = (side: Side) => manoeuvres.filter((one) => one.side === side)
    await this.#decide(
      name,
      (['a', 'b'] as const).flatMap((side) =>
        of(side).length > 0 ? [this.#edit(side, ...of(side).map(({ id }) => ({ id, leaveOut: true })))] : [],
      ),
    )
  }

  /** Takes back what was put right about a manoeuvre: the detection's own word holds again; undoable. */
  async takeBack(side: Side, id: string): Promise<void> {
    await this.#decide('take a manoeuvre back in', [this.#edit(side, { id })])
  }

  /** Declares what holds before looking, for every comparison; undoable. */
  async declare(name: string, changes: Partial<Declared>): Promise<void> {
    const after = { ...this.declared, ...changes }
    await this.#decide(name, [change(DECLARED, this.declared, after)])
  }

  /** Chooses the flight that repeats the settings of A or B; null lets go of it. Undoable. */
  async chooseRepeat(flightId: number | null, of: Side = 'a'): Promise<void> {
    if (!this.#flights) return
    const choice = this.#repeatChoice()
    const before = this.repeat
      ? { flightId: this.repeat.flight.detail.id, of: this.#flights[this.repeat.of].detail.id }
      : null
    const after = flightId === null ? null : { flightId, of: this.#flights[of].detail.id }
    await this.#decide(flightId === null ? 'let go of the repeat flight' : 'choose a repeat flight', [
      change(choice, before, after),
    ])
  }

  /** Sorts the pairs; the same again turns the order round. */
  sortBy(by: PairOrder['by']): void {
    const usuallyDown = by === 'size' || by === 'measure'
    this.order = {
      by,
      descending: this.order.by === by ? !this.order.descending : usuallyDown,
    }
  }

  /** The pair that many lines further down, or up; the first when none was looked at. Null at the ends. */
  step(by: 1 | -1): PairLine | null {
    const at = this.lines.findIndex(({ key }) => key === this.pairAt)
    const line = this.lines[at < 0 ? 0 : at + by] ?? null
    if (line) this.pairAt = line.key
    return line
  }

  /** Shows the pairs that a measure rests on: its values, largest difference first. */
  showPairsOf(key: MeasureKey): void {
    const id = key.slice(0, key.indexOf('.')) as MeasureId
    if (!(id in VERDICT_MEASURES)) return
    this.shownMeasure = id
    this.order = { by: 'size', descending: true }
    const first = this.lines.find(({ pair }) => pair.differences.some((one) => one.key === key))
    if (first) this.pairAt = first.key
  }

  /** Looks at a pair. */
  lookAt(pair: Pick<Pair, 'a' | 'b'>): void {
    this.pairAt = pairKey(pair)
  }

  #repeatChoice() {
    return repeatOf([this.#flights!.a.detail.id, this.#flights!.b.detail.id])
  }

  #edit(side: Side, ...edits: readonly ManoeuvreEdit[]): Change {
    const others = this.edits[side].filter(({ id }) => !edits.some((edit) => edit.id === id))
    const says = edits.filter(({ kind, leaveOut }) => kind !== undefined || leaveOut === true)
    return change(editsOf(this.#flights![side].detail), this.edits[side], [...others, ...says])
  }

  async #decide(name: string, changes: readonly Change[]): Promise<void> {
    await this.#orSay(() => decide(name, changes))
  }

  /** Takes over a choice that was changed, here or by an undo. */
  async #follow(key: string): Promise<void> {
    if (!this.#flights) return
    const { a, b } = this.#flights
    const choices = { a: editsOf(a.detail), b: editsOf(b.detail) }
    const ofRepeat = this.repeat && editsOf(this.repeat.flight.detail).key
    if (key === DECLARED.key) this.declared = await keptChoice(DECLARED)
    else if (key === this.#repeatChoice().key) await this.#takeRepeat(await keptChoice(this.#repeatChoice()))
    else if (key === choices.a.key || key === choices.b.key)
      this.edits = { a: await keptChoice(choices.a), b: await keptChoice(choices.b) }
    else if (key !== ofRepeat) return
    void this.again()
  }

  /** Loads the repeat flight; one that is no longer in the logbook counts as none. */
  async #takeRepeat(choice: RepeatChoice | null): Promise<void> {
    this.repeat = null
    this.repeatProblem = ''
    if (!choice || !this.#flights) return
    const of = (['a', 'b'] as const).find((side) => this.#flights![side].detail.id === choice.of)
    if (!of) return
    try {
      const flight = await loadFlight(choice.flightId, this.#end.signal, () => undefined)
      this.repeat = { flight, of }
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code === 'cancelled') return
      this.repeatProblem = `The repeat flight can't be used: ${error.message}`
    }
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

/** What a repeat flight's samples and their meaning are known by. */
function identityOf({ detail }: LoadedFlight) {
  const { contentHash, span, assignments } = detail
  return { contentHash, span, assignments }
}
