import { resampleLevels } from '../colour/resample-levels.ts'
import type { Lane } from './spectra.ts'

/** How much louder B is than A, in dB, on one grid of the common clock and the band that both flights have. */
export interface DifferenceLane {
  readonly t0_s: number
  readonly t1_s: number
  /** The common band ends here: half the lower of the two rates. */
  readonly fMax_hz: number
  readonly columns: number
  readonly rows: number
  /** columns x rows, column after column, lowest frequency first. NaN where either flight has nothing. */
  readonly difference_db: Float32Array<ArrayBuffer>
}

/**
 * Level of B minus level of A, cell by cell. Both spectrograms are brought to one grid first: mean power where several
 * frames or bins fall into a cell, the nearest frame and bin within their own width where fewer do (see resampleLevels).
 * Levels are densities, so that windows of other lengths compare. Times: A's clock; B's lane is moved by offset_s.
 * @throws RangeError for an empty span or grid
 */
export function laneDifference(
  a: Lane,
  b: Lane,
  offset_s: number,
  t0_s: number,
  t1_s: number,
  columns: number,
  rows: number,
): DifferenceLane {
  const fMax_hz = Math.min(a.rate_hz, b.rate_hz) / 2
  const gridOf = (lane: Lane, shift_s: number) =>
    resampleLevels(
      lane,
      { t0_s: t0_s - shift_s, t1_s: t1_s - shift_s, f0_hz: 0, f1_hz: fMax_hz },
      columns,
      rows,
    )
  const before = gridOf(a, 0)
  const after = gridOf(b, offset_s)
  const difference_db = after.map((level_db, cell) => level_db - before[cell]!)
  return { t0_s, t1_s, fMax_hz, columns, rows, difference_db }
}

/** The difference at a time of the common clock and a frequency; null outside and where either flight has nothing. */
export function differenceAt(lane: DifferenceLane, t_s: number, f_hz: number): number | null {
  const column = Math.floor(((t_s - lane.t0_s) / (lane.t1_s - lane.t0_s)) * lane.columns)
  const row = Math.floor((f_hz / lane.fMax_hz) * lane.rows)
  if (column < 0 || column >= lane.columns || row < 0 || row >= lane.rows) return null
  const difference_db = lane.difference_db[column * lane.rows + row]!
  return Number.isNaN(difference_db) ? null : difference_db
}
