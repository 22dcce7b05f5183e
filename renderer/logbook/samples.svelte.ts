import { samplePath } from '../../electron/desk/contract/calls.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { fetchColumn } from '../desk/client.ts'

/** Some rows of the columns of one file or flight, fetched when they are first looked at. */
export class Samples {
  readonly #of: Parameters<typeof samplePath>[0]
  /** Null: the desk has none. */
  #loaded = $state.raw<Readonly<Record<number, Float64Array | null>>>({})
  #asked: readonly number[] = []

  constructor(of: Parameters<typeof samplePath>[0]) {
    this.#of = of
  }

  /** The rows of a column; null when there are none, undefined while they are on their way. */
  of(column: number): Float64Array | null | undefined {
    return this.#loaded[column]
  }

  /** Fetches columns that are not here yet. */
  want(columns: readonly number[]): void {
    const missing = columns.filter((column) => !this.#asked.includes(column))
    this.#asked = [...this.#asked, ...missing]
    for (const column of missing) {
      fetchColumn(samplePath(this.#of, column)).then(
        (bytes) => this.#keep(column, new Float64Array(bytes)),
        (error: unknown) => {
          // Nothing to see is no fault: the table says so and works without.
          if (!isProblem(error)) throw error
          this.#keep(column, null)
        },
      )
    }
  }

  #keep(column: number, sample: Float64Array | null): void {
    this.#loaded = { ...this.#loaded, [column]: sample }
  }
}
