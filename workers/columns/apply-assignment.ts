import { UNITS } from '../units/units.ts'
import type { Assignment } from './roles.ts'

type Raw = Float32Array | Float64Array

/**
 * Brings a column to canonical units: sign * (raw * scale + offset). Computed in double, stored in single precision.
 * What is not finite in single precision becomes NaN. Not for time, whose steps a 32-bit number would lose: see
 * `canonicalTime`.
 * @param out to be filled and returned, of the same length; may be `raw` itself
 */
export function applyAssignment(
  raw: Raw,
  assignment: Assignment,
  out: Float32Array = new Float32Array(raw.length),
): Float32Array {
  const { scale, offset } = UNITS[assignment.unit]
  const { sign } = assignment
  // A question asked of every value would take longer than all the rest: zeros add up to zero, anything else to NaN.
  let zero = 0
  if (raw instanceof Float32Array) {
    for (let row = 0; row < raw.length; row += 1) {
      const value = Math.fround(sign * ((raw[row] as number) * scale + offset))
      out[row] = value
      zero += value * 0
    }
  } else {
    // A loop of its own: one that meets both kinds of arrays is slower.
    for (let row = 0; row < raw.length; row += 1) {
      const value = Math.fround(sign * ((raw[row] as number) * scale + offset))
      out[row] = value
      zero += value * 0
    }
  }
  if (zero !== 0) {
    for (let row = 0; row < out.length; row += 1) if (!Number.isFinite(out[row])) out[row] = NaN
  }
  return out
}

/**
 * A clock column in seconds, in double precision.
 * @param out to be filled and returned, of the same length; may be `raw` itself
 */
export function canonicalTime(
  raw: Raw,
  assignment: Assignment,
  out: Float64Array = new Float64Array(raw.length),
): Float64Array {
  if (assignment.role !== 'time') throw new Error(`not a time column: ${assignment.role}`)
  const { scale } = UNITS[assignment.unit]
  // Multiplying by 1e-6 and the like would add an error that dividing by 1e6 does not.
  const divisor = Math.round(1 / scale)
  for (let row = 0; row < raw.length; row += 1) out[row] = (raw[row] as number) / divisor
  return out
}
