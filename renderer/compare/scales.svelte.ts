import type { FlightPart, RateRange } from '../../workers/comparison/ranges.ts'
import type { ChannelWords } from './channels.ts'
import type { Side } from './comparison.svelte.ts'
import { fitScales, scaleKey, type FittedScales } from './fit-scales.ts'
import type { Rows } from './rows.svelte.ts'
import type { View } from './view.svelte.ts'

/** The vertical scales: one per row, unit and - where they are not locked - flight. They stay while the view moves. */
export class Scales {
  #fitted = $state.raw<FittedScales | null>(null)
  readonly #rows: Rows
  readonly #view: View

  constructor(rows: Rows, view: View) {
    this.#rows = rows
    this.#view = view
  }

  readonly ready = $derived(this.#fitted !== null)

  /** Fits every row's scales to parts of the two flights. */
  fit(parts: Readonly<Record<Side, FlightPart>>): void {
    this.#fitted = fitScales(this.#rows, parts)
  }

  /** The scale in force for a unit of a row and a flight: the fitted one, or the part of it that is drawn out. */
  of(row: string, unit: string, side: Side): RateRange {
    const { min, max, cut } = this.#fitted?.get(scaleKey(row, unit, side)) ?? { min: 0, max: 1, cut: false }
    const { from, to } = this.#view.valuesOf(row)
    return { min: min + from * (max - min), max: min + to * (max - min), cut }
  }

  /** The unit whose numbers stand beside the row: that of its first channel. */
  unitOf(row: string): ChannelWords | null {
    return this.#rows.drawnIn(row)[0] ?? null
  }

  /** True where the two flights of a row stand on different scales. */
  differ(row: string): boolean {
    const unit = this.unitOf(row)?.unit
    if (unit === undefined || this.#rows.locked) return false
    const [a, b] = [this.of(row, unit, 'a'), this.of(row, unit, 'b')]
    return a.min !== b.min || a.max !== b.max
  }
}
