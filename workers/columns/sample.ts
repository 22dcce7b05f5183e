import { stepsOf, thin } from './evidence.ts'
import type { Tokens } from './tokens.ts'

/** Rows from which the numbers' meaning is judged, prepared once for all questions. */
export interface Sample {
  readonly names: readonly string[]
  readonly tokens: readonly Tokens[]
  /** As read; null for columns of text. */
  readonly columns: readonly (Float64Array | null)[]
  /** A column thinned to about 200 Hz, empty cells held; null for one without numbers. Made when first asked for. */
  readonly thinned: (column: number | undefined) => Float64Array | null
  /** Time of the thinned rows in seconds, or null while the clock is unknown. */
  readonly time_s: Float64Array | null
  readonly windowRows: number
  readonly maxLagRows: number
}

/** @param time_s stamps of the sample's rows in seconds, or null */
export function makeSample(
  names: readonly string[],
  tokens: readonly Tokens[],
  columns: readonly (Float64Array | null)[],
  time_s: Float64Array | null,
): Sample {
  const step = time_s ? stepsOf(time_s).median : NaN
  const rate_hz = step > 0 ? 1 / step : 100
  const factor = Math.max(1, Math.floor(rate_hz / 200))
  const made = new Map<Float64Array, Float64Array>()
  return {
    names,
    tokens,
    columns,
    thinned: (column) => {
      const values = column === undefined ? null : columns[column]
      if (!values) return null
      let thinned = made.get(values)
      if (!thinned) made.set(values, (thinned = thin(held(values), factor)))
      return thinned
    },
    time_s: time_s ? thin(held(time_s), factor) : null,
    windowRows: Math.max(32, Math.round((2 * rate_hz) / factor)),
    maxLagRows: Math.max(2, Math.round((0.25 * rate_hz) / factor)),
  }
}

/** Empty cells take the value before them, so that a window with one missing cell still counts. */
function held(values: Float64Array): Float64Array {
  let last = values.find(Number.isFinite) ?? 0
  return values.map((value) => (Number.isFinite(value) ? (last = value) : last))
}
