import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import { excerptLeavesOut, excerptSize, MOST_CELLS, type ExcerptColumn } from '../../workers/share/excerpt.ts'
import type { Side } from '../compare/comparison.svelte.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { columnsOf, columnsOfBoth, rawOf, type OfferedColumn } from './excerpt-columns.ts'
import type { Share } from './share.svelte.ts'

/** A small part of both logs for somebody who helps, less what tells who, where and when. */
export class Excerpt {
  readonly share: Share
  /** Chosen for this time only: what may tell who or where is not remembered. */
  #told = $state.raw<readonly string[]>([])

  constructor(share: Share) {
    this.share = share
  }

  readonly columns: readonly OfferedColumn[] = $derived.by(() => {
    const { a, b } = this.share.comparison
    return a && b ? columnsOfBoth(a.detail, b.detail) : []
  })

  isIn(column: Pick<OfferedColumn, 'key' | 'usual' | 'tells'>): boolean {
    const { without, also } = this.share.choices.excerpt
    if (column.tells !== null) return this.#told.includes(column.key)
    return column.usual ? !without.includes(column.key) : also.includes(column.key)
  }

  choose(column: OfferedColumn, on: boolean): void {
    const { excerpt } = this.share.choices
    const others = (keys: readonly string[]) => keys.filter((key) => key !== column.key)
    if (column.tells !== null) this.#told = [...others(this.#told), ...(on ? [column.key] : [])]
    else if (column.usual) excerpt.without = [...others(excerpt.without), ...(on ? [] : [column.key])]
    else excerpt.also = [...others(excerpt.also), ...(on ? [column.key] : [])]
  }

  /** Rows of a flight's excerpt, and why it can't be made ('' when it can). */
  size(side: Side): { readonly rows: number; readonly columns: number; readonly fault: string } {
    const flight = this.share.comparison.flight(side)
    if (!flight) return { rows: 0, columns: 0, fault: 'not loaded' }
    const columns = this.#chosen(flight.detail)
    const { rows, cells } = excerptSize({ signals: flight.signals, columns, ...this.#span(side) })
    const fault =
      columns.length === 0
        ? 'no column is chosen'
        : rows === 0
          ? 'no samples in the chosen part'
          : cells > MOST_CELLS
            ? 'too long for a small excerpt: choose a shorter part or fewer columns'
            : ''
    return { rows, columns: columns.length + 1, fault }
  }

  /** What stays out of a flight's excerpt, in sentences. */
  leavesOut(side: Side): string[] {
    const flight = this.share.comparison.flight(side)
    return flight ? excerptLeavesOut(columnsOf(flight.detail), this.#chosen(flight.detail)) : []
  }

  /** The excerpt of one flight as CSV, packed where that was chosen. @throws Problem as excerptCsv does, cancelled */
  async make(side: Side, signal: AbortSignal): Promise<Blob> {
    const flight = this.share.comparison.flight(side)
    if (!flight) throw new Error('an excerpt needs a loaded flight')
    const columns = this.#chosen(flight.detail)
    const raw = await rawOf(flight, columns, signal)
    const span = this.#span(side)
    const text = await comparisonWorkers.run(
      (worker) => worker.excerpt({ signals: flight.signals, columns, raw, ...span }),
      signal,
    )
    const csv = new Blob([text], { type: 'text/csv' })
    if (!this.share.choices.excerpt.gzip) return csv
    return new Response(csv.stream().pipeThrough(new CompressionStream('gzip'))).blob()
  }

  #chosen(detail: FlightDetail): ExcerptColumn[] {
    return columnsOf(detail).filter((column) => this.isIn(column))
  }

  /** The shown part on the flight's own clock. */
  #span(side: Side): { t0_s: number; t1_s: number } {
    const { t0_s, t1_s, offset_s } = this.share.span
    const shift_s = side === 'a' ? 0 : offset_s
    return { t0_s: t0_s - shift_s, t1_s: t1_s - shift_s }
  }
}
