import type { SheetFlight } from '../../electron/desk/contract/changes.ts'
import type { FlightFigures } from '../../workers/changes/flight-figures.ts'
import {
  courseCautions,
  steppedSettings,
  whyNoCourse,
  type FlightWithSettings,
} from '../../workers/changes/setting-steps.ts'
import { AXES } from '../../workers/flight/axes.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { sheetOfFlight } from '../../workers/settings/sheet-of-flight.ts'
import type { MeasureKey } from '../../workers/verdict/comparison.ts'
import { MEASURE_IDS, VERDICT_MEASURES } from '../../workers/verdict/measures.ts'
import { loadFlight } from '../compare/load-flight.ts'
import { call } from '../desk/client.ts'
import { editsOf, keptChoice } from '../verdict/choices.ts'
import { comparisonWorkers } from '../work/workers.ts'

/** Flights beyond this are not measured at once: the newest that have the setting are. */
const MOST_FLIGHTS = 40

/** Measures that come manoeuvre by manoeuvre, one for each axis or for the craft. */
export const COURSE_MEASURES: readonly { readonly key: MeasureKey; readonly label: string }[] =
  MEASURE_IDS.flatMap((id) => {
    const { label, unit, from, per } = VERDICT_MEASURES[id]
    if (from === 'flights') return []
    const name = unit ? `${label}, ${unit}` : label
    if (per === 'craft') return [{ key: `${id}.craft` as MeasureKey, label: name }]
    return AXES.map((axis) => ({ key: `${id}.${axis}` as MeasureKey, label: `${name}, ${axis}` }))
  })

/** A measure of every flight of a craft against the value of one setting. */
export class Course {
  flights = $state.raw<readonly SheetFlight[]>([])
  loaded = $state(false)
  problem = $state('')
  setting = $state('')
  measure = $state<MeasureKey>('trackingError.roll')
  working = $state.raw<{ readonly done: number; readonly doing: string } | null>(null)
  /** Figures by flight, as computed with the slowest rate of those looked at. */
  #figures = $state.raw<Readonly<Record<string, FlightFigures>>>({})
  #stop = new AbortController()

  readonly #sheets: readonly FlightWithSettings[] = $derived(
    this.flights.map((one) => ({ flightId: one.flight.id, settings: sheetOfFlight(one).settings })),
  )
  readonly settings = $derived(steppedSettings(this.#sheets))
  readonly stepped = $derived(this.settings.find(({ key }) => key === this.setting) ?? null)
  readonly refusal = $derived(this.stepped && whyNoCourse(this.stepped))
  /** The flights that are measured, in the order flown. */
  readonly steps = $derived(this.stepped?.steps.slice(-MOST_FLIGHTS) ?? [])
  readonly #slowest_hz = $derived(
    Math.min(...this.steps.map(({ flightId }) => this.#flight(flightId)?.flight.rate_hz ?? Infinity)),
  )
  readonly points = $derived(
    this.steps.flatMap(({ flightId, value }) => {
      const flight = this.#flight(flightId)?.flight
      const figures = this.#figures[this.#key(flightId)]
      return flight && figures
        ? [{ flight, value, figures, figure: figures.figures[this.measure] ?? null }]
        : []
    }),
  )
  readonly isWhole = $derived(this.steps.length > 0 && this.points.length === this.steps.length)
  readonly cautions = $derived(
    this.stepped && this.isWhole
      ? courseCautions(
          this.stepped,
          this.#sheets,
          this.points.map(({ flight, figures }) => ({ flightId: flight.id, ...figures })),
        )
      : [],
  )

  async load(craft: string): Promise<void> {
    await this.#orSay(async () => {
      this.flights = (await call('changes.sheets', { craft })).flights
      this.setting = this.settings[0]?.key ?? ''
      this.loaded = true
    })
  }

  /** Measures every flight that has the setting, one after the other. */
  async compute(): Promise<void> {
    this.#stop.abort()
    const stop = new AbortController()
    this.#stop = stop
    const slowest_hz = this.#slowest_hz
    const wanted = this.steps.map(({ flightId }) => flightId).filter((id) => !this.#figures[this.#key(id)])
    await this.#orSay(async () => {
      for (const [index, flightId] of wanted.entries()) {
        this.working = {
          done: index / wanted.length,
          doing: `Measuring flight ${index + 1} of ${wanted.length}`,
        }
        const flight = this.#flight(flightId)
        if (!flight) continue
        const { signals } = await loadFlight(flightId, stop.signal, () => {})
        const edits = await keptChoice(editsOf({ contentHash: flight.contentHash, span: flight.flight.span }))
        const figures = await comparisonWorkers.run(
          (worker) => worker.figures(signals, slowest_hz, edits),
          stop.signal,
        )
        this.#figures = { ...this.#figures, [this.#key(flightId, slowest_hz)]: figures }
      }
    })
    if (this.#stop === stop) this.working = null
  }

  cancel(): void {
    this.#stop.abort()
    this.working = null
  }

  #flight(flightId: number): SheetFlight | undefined {
    return this.flights.find(({ flight }) => flight.id === flightId)
  }

  #key(flightId: number, slowest_hz = this.#slowest_hz): string {
    return `${flightId} ${slowest_hz}`
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    this.problem = ''
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code !== 'cancelled') this.problem = error.message
    }
  }
}
