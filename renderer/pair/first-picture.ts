import { levelPath } from '../../electron/desk/contract/calls.ts'
import { applyAssignment, canonicalTime } from '../../workers/columns/apply-assignment.ts'
import { AXES, type Axis } from '../../workers/flight/axes.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { call, fetchColumn } from '../desk/client.ts'

/** What is known of a flight before its samples are there: extremes of the gyro, block by block. */
export interface FlightOutline {
  readonly name: string
  /** Largest size of the gyro on any axis. */
  readonly largest_dps: number
  /** Start of each block, seconds since the flight's first. */
  readonly t_s: Float64Array
  readonly gyro_dps: Readonly<
    Partial<Record<Axis, { readonly low: Float32Array; readonly high: Float32Array }>>
  >
}

/**
 * Fetches the stored extremes of a flight's gyro: a hundredth of its samples. Null for a log that was stored without.
 */
export async function fetchOutline(flightId: number): Promise<FlightOutline | null> {
  const detail = await call('flight.get', { flightId })
  const level = (column: number) => fetchColumn(levelPath(flightId, column, detail.contentHash))
  const time = detail.assignments.find(({ role }) => role === 'time')
  const gyro = AXES.flatMap((axis) => {
    const assignment = detail.assignments.find(({ role }) => role === `gyro.${axis}`)
    return assignment ? [{ axis, assignment }] : []
  })
  const isStored = ({ column }: { column: number }) => detail.columns[column]?.type === 'f32'
  if (!time || isStored(time) || gyro.length === 0 || !gyro.every(({ assignment }) => isStored(assignment)))
    return null
  const wanted = [time, ...gyro.map(({ assignment }) => assignment)]
  const [stamps, ...extremes] = await Promise.all(wanted.map(({ column }) => level(column))).catch(noneStored)
  if (!stamps) return null
  const t_s = canonicalTime(new Float64Array(stamps), time)
  const gyro_dps: Partial<Record<Axis, { low: Float32Array; high: Float32Array }>> = {}
  gyro.forEach(({ axis, assignment }, index) => {
    const both = applyAssignment(new Float32Array(extremes[index] as ArrayBuffer), assignment)
    const [one, other] = [both.subarray(0, t_s.length), both.subarray(t_s.length)]
    // A sign turns the smallest into the largest.
    gyro_dps[axis] = assignment.sign < 0 ? { low: other, high: one } : { low: one, high: other }
  })
  const first_s = t_s[0] ?? 0
  return {
    name: detail.name,
    largest_dps: largestOf(gyro_dps),
    t_s: t_s.map((stamp_s) => stamp_s - first_s),
    gyro_dps,
  }
}

/** A log from before extremes were stored is drawn when its samples are there. */
function noneStored(error: unknown): ArrayBuffer[] {
  if (isProblem(error) && error.code === 'not-found') return []
  throw error
}

/** Largest size of any value; NaN is skipped. */
export function largestOf(gyro_dps: FlightOutline['gyro_dps']): number {
  let most = 0
  for (const { low, high } of Object.values(gyro_dps)) {
    for (const value of low) if (-value > most) most = -value
    for (const value of high) if (value > most) most = value
  }
  return most
}

/**
 * Lowest and highest value over each of `width` equal parts of `span_s`: NaN where there is no block.
 */
export function outlineByPixel(
  t_s: Float64Array,
  { low, high }: { readonly low: Float32Array; readonly high: Float32Array },
  span_s: number,
  width: number,
): { low: Float32Array; high: Float32Array } {
  const out = { low: new Float32Array(width).fill(NaN), high: new Float32Array(width).fill(NaN) }
  for (let block = 0; block < t_s.length; block += 1) {
    const x = Math.min(width - 1, Math.floor(((t_s[block] as number) / span_s) * width))
    if (!(x >= 0)) continue
    if (!((out.low[x] as number) <= (low[block] as number))) out.low[x] = low[block] as number
    if (!((out.high[x] as number) >= (high[block] as number))) out.high[x] = high[block] as number
  }
  return out
}
