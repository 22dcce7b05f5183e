import { sizeOf, stepsOf } from '../../workers/columns/evidence.ts'
import type { CellTarget } from '../../workers/text/row-parser.ts'

/** Half a unit in the last place of a 32-bit number, relative. */
const SINGLE = 2 ** -24

/**
 * How a column must be stored so that nothing that matters is lost: clocks, counters and anything whose changes are
 * small against its size (positions in 1e-7 degrees) in 64 bits; stamps of more digits than a double holds as exact
 * differences to the first; everything else in 32 bits.
 * @param examples the first cells as written
 */
export function storageOf(values: Float64Array, examples: readonly string[], isTime: boolean): CellTarget {
  const { rising, still } = stepsOf(values)
  const clock = isTime || (rising > 0.95 && still < 0.95)
  const { min, max } = sizeOf(values)
  const size = Math.max(Math.abs(min), Math.abs(max))
  const fine = max > min && size * SINGLE * 1000 > max - min
  const beyond = size >= 2 ** 128 || (size > 2 ** 24 && values.every((value) => !(value % 1)))
  if (!clock && !fine && !beyond) return 'f32'
  return clock && examples.some((cell) => significantDigits(cell) > 15) ? 'f64-origin' : 'f64'
}

function significantDigits(cell: string): number {
  return cell
    .replace(/[eE].*$/, '')
    .replaceAll(/[^0-9]/g, '')
    .replace(/^0+/, '').length
}
