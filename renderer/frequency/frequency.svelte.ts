import type { FlightEvents } from '../../workers/comparison/flight-events.ts'
import { sideBySide, type FrequencyComparison } from '../../workers/comparison/frequency.ts'
import type { RotorFacts, RotorOverlay } from '../../workers/comparison/rotors.ts'
import { channelsOf, SHOWN_SIGNALS, type ShownSignal } from '../../workers/comparison/shown-signals.ts'
import { differenceOf, type SignalComparison } from '../../workers/comparison/signal-frequency.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import type { Axis } from '../../workers/flight/axes.ts'
import { isProblem } from '../../workers/log/problems.ts'
import type { ResponseByDemand } from '../../workers/response/by-demand.ts'
import { commonSegments } from '../../workers/signal/noise-map.ts'
import type { Refused } from '../../workers/signal/result.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { SIDES, type Comparison, type Side } from '../compare/comparison.svelte.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { laneOf } from '../work/lane-of.ts'
import { Latest } from '../work/latest.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { frequencyResults, type Asked } from './kept-frequency.ts'
import { keepFacts, loadFacts, mergedFacts, NO_FACTS } from './rotor-facts.ts'

type Job = 'found' | 'shown' | 'lanes' | 'demand' | 'events' | 'rotors'

export type PerSide<T> = Readonly<Record<Side, T>>

const LANE_COLUMNS = 700
const none = <T>(): PerSide<T | null> => ({ a: null, b: null })

/** What is computed over frequency of what is visible side by side: one axis, one signal, both flights. */
export class Frequency {
  axis = $state<Axis>('roll')
  signal = $state<ShownSignal>('gyro')
  /** Response, budget and the gyro's own spectra. */
  found = $state.raw<FrequencyComparison | null>(null)
  /** Spectra and noise of the chosen signal. */
  shown = $state.raw<SignalComparison | null>(null)
  lanes = $state.raw<PerSide<Lane | null>>(none())
  demand = $state.raw<PerSide<ResponseByDemand | null>>(none())
  events = $state.raw<PerSide<FlightEvents | null>>(none())
  rotors = $state.raw<PerSide<RotorOverlay | Refused | null>>(none())
  /** What the pilot says of propellers and motors; what he leaves open is read from the settings sheet. */
  said = $state.raw<PerSide<RotorFacts>>({ a: NO_FACTS, b: NO_FACTS })
  working = $state(0)
  problem = $state('')
  readonly #stop = new AbortController()
  readonly #latest: Readonly<Record<Job, Latest>> = {
    found: new Latest(60),
    shown: new Latest(60),
    lanes: new Latest(60),
    demand: new Latest(120),
    events: new Latest(120),
    rotors: new Latest(120),
  }

  /** Signals that at least one of the flights holds. */
  offered({ a, b }: Comparison): ShownSignal[] {
    const flights = [a, b].flatMap((flight) => flight?.signals ?? [])
    return SHOWN_SIGNALS.filter((signal) =>
      flights.some((flight) => channelsOf(flight, signal, this.axis).length > 0),
    )
  }

  /** What is taken for a flight's propellers and motors: what was said, else what its sheet says. */
  facts(side: Side, flight: LoadedFlight | null): RotorFacts {
    const said = this.said[side]
    return flight ? mergedFacts(flight.detail, said) : said
  }

  async loadFacts({ a, b }: Comparison): Promise<void> {
    if (!a || !b) return
    await this.#orSay(async () => {
      this.said = { a: await loadFacts(a.detail), b: await loadFacts(b.detail) }
    })
  }

  /** Keeps what the pilot says of a flight's propellers and motors; can be undone. */
  async say(side: Side, flight: LoadedFlight, facts: RotorFacts): Promise<void> {
    const before = this.said[side]
    const set = async (to: RotorFacts): Promise<void> => {
      await keepFacts(flight.detail, to)
      this.said = { ...this.said, [side]: to }
    }
    await this.#orSay(async () => {
      await set(facts)
      undoStack.did({
        name: `what is said of the motors of ${side.toUpperCase()}`,
        undo: () => set(before),
        redo: () => set(facts),
      })
    })
  }

  /** Asks for response, budget and spectra of the axis and span in force; the last stay until the new are there. */
  compute(comparison: Comparison): void {
    const asked = this.#asked(comparison)
    if (!asked) return
    const { axis } = this
    const segments = commonSegments(asked.a.signals.rate_hz, asked.b.signals.rate_hz)
    this.#ask('found', async () => {
      this.found = await frequencyResults.response(asked, axis, async () => {
        // A worker for each flight.
        const { a, b } = await this.#ofBoth(asked, (flight, from_s, to_s, side) =>
          this.#run((worker) => worker.frequency(flight.signals, axis, from_s, to_s, segments[side])),
        )
        return sideBySide(axis, a, b)
      })
    })
    this.#ask('demand', async () => {
      this.demand = await this.#ofBoth(asked, (flight, from_s, to_s) =>
        frequencyResults.demand(flight, from_s, to_s, axis, () =>
          this.#run((worker) => worker.demand(flight.signals, from_s, to_s, axis)),
        ),
      )
    })
  }

  /** Asks for what is of the whole flights' spans, whichever axis is looked at. */
  computeEvents(comparison: Comparison): void {
    const asked = this.#asked(comparison)
    if (!asked) return
    this.#ask('events', async () => {
      this.events = await this.#ofBoth(asked, (flight, from_s, to_s) =>
        frequencyResults.events(flight, from_s, to_s, () =>
          this.#run((worker) => worker.events(flight.signals, from_s, to_s)),
        ),
      )
    })
  }

  computeRotors(comparison: Comparison): void {
    const asked = this.#asked(comparison)
    if (!asked) return
    const facts = { a: this.facts('a', asked.a), b: this.facts('b', asked.b) }
    this.#ask('rotors', async () => {
      this.rotors = await this.#ofBoth(asked, (flight, from_s, to_s, side) =>
        this.#run<RotorOverlay | Refused>(async (worker) =>
          worker.rotors(flight.signals, from_s, to_s, facts[side]),
        ),
      )
    })
  }

  /** Asks for spectra, noise and spectrograms of the chosen signal. */
  computeSignal(comparison: Comparison): void {
    const asked = this.#asked(comparison)
    if (!asked) return
    const { axis, signal } = this
    const segments = commonSegments(asked.a.signals.rate_hz, asked.b.signals.rate_hz)
    this.#ask('shown', async () => {
      this.shown = await frequencyResults.signal(asked, axis, signal, async () => {
        const { a, b } = await this.#ofBoth(asked, (flight, from_s, to_s, side) =>
          this.#run((worker) => worker.signal(flight.signals, axis, signal, from_s, to_s, segments[side])),
        )
        return { axis, signal, a, b, difference: differenceOf(a.noise, b.noise) }
      })
    })
    this.#ask('lanes', async () => {
      this.lanes = await this.#ofBoth(asked, (flight, from_s, to_s) =>
        laneOf(
          { signals: flight.signals, detail: flight.detail, signal, axis },
          ...([from_s, to_s, LANE_COLUMNS, this.#stop.signal] as const),
        ),
      )
    })
  }

  close(): void {
    for (const latest of Object.values(this.#latest)) latest.drop()
    this.#stop.abort()
  }

  #asked(comparison: Comparison): Asked | null {
    const { a, b, offset_s } = comparison
    const { t0_s, t1_s } = comparison.view.span
    return a && b ? { a, b, offset_s, t0_s, t1_s } : null
  }

  async #ofBoth<T>(
    { a, b, offset_s, t0_s, t1_s }: Asked,
    job: (flight: LoadedFlight, from_s: number, to_s: number, side: Side) => Promise<T>,
  ): Promise<PerSide<T>> {
    const [ofA, ofB] = await Promise.all(
      SIDES.map((side) => {
        const shift_s = side === 'a' ? 0 : offset_s
        return job(side === 'a' ? a : b, t0_s - shift_s, t1_s - shift_s, side)
      }),
    )
    return { a: ofA as T, b: ofB as T }
  }

  #run<T>(job: Parameters<typeof comparisonWorkers.run<T>>[0]): Promise<T> {
    return comparisonWorkers.run(job, this.#stop.signal)
  }

  #ask(what: Job, job: () => Promise<void>): void {
    this.#latest[what].ask(async () => {
      this.working += 1
      try {
        await this.#orSay(job)
      } finally {
        this.working -= 1
      }
    })
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
      this.problem = ''
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code !== 'cancelled') this.problem = error.message
    }
  }
}
