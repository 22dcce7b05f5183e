import { applyAssignment, canonicalTime } from '../../workers/columns/apply-assignment.ts'
import { quantityOf, type Assignment } from '../../workers/columns/roles.ts'
import type { Quantity } from '../../workers/units/units.ts'

/** A few seconds of a column as its meaning makes it, ready to be drawn. */
export interface Trace {
  /** Smallest and largest of each of the plot's steps; null where there is no number. */
  readonly steps: readonly ({ readonly min: number; readonly max: number } | null)[]
  readonly min: number
  readonly max: number
}

/** Brings a sample to canonical units by a choice of meaning and reduces it; null when it holds no number. */
export function traceOf(sample: Float64Array, assignment: Assignment, count: number): Trace | null {
  const values =
    assignment.role === 'time'
      ? fromFirst(canonicalTime(sample, assignment))
      : applyAssignment(sample, assignment)
  const steps: ({ min: number; max: number } | null)[] = Array.from({ length: count }, () => null)
  let min = Infinity
  let max = -Infinity
  for (const [row, value] of values.entries()) {
    if (!Number.isFinite(value)) continue
    const step = Math.floor((row * count) / values.length)
    const before = steps[step]
    steps[step] = before
      ? { min: Math.min(before.min, value), max: Math.max(before.max, value) }
      : { min: value, max: value }
    min = Math.min(min, value)
    max = Math.max(max, value)
  }
  return min <= max ? { steps, min, max } : null
}

/** One line through the steps, up and down each. `low` stands at the bottom of the plot, `high` at its top. */
export function pathOf({ steps }: Trace, low: number, high: number, height: number): string {
  const y = (value: number) => (height - ((value - low) / (high - low || 1)) * height).toFixed(1)
  let path = ''
  let isDown = false
  steps.forEach((step, x) => {
    if (step)
      path += `${isDown ? 'L' : 'M'}${x} ${y(step.min)}${step.max > step.min ? `V${y(step.max)}` : ''}`
    isDown = step !== null
  })
  return path
}

/** "-120 to 131 deg/s", "4.0 s in 4000 rows": what the sample is by its meaning, in words. */
export function traceInWords(trace: Trace, assignment: Assignment, rows: number): string {
  if (assignment.role === 'time') {
    const length_s = trace.max - trace.min
    const rate_hz = (rows - 1) / length_s
    return Number.isFinite(rate_hz) && length_s > 0
      ? `${short(length_s)} s for ${rows} rows, ${short(rate_hz)} Hz`
      : 'stands still'
  }
  const { scale, unit } = SHOWN_AS[quantityOf(assignment.role)]
  return `${short(trace.min * scale)} to ${short(trace.max * scale)}${unit}`
}

/** What the canonical values are multiplied by to be shown, and in which unit that is. */
const SHOWN_AS: Readonly<Record<Quantity, { readonly scale: number; readonly unit: string }>> = {
  time: { scale: 1, unit: ' s' },
  rate: { scale: 1, unit: ' deg/s' },
  stick: { scale: 100, unit: ' %' },
  throttle: { scale: 100, unit: ' %' },
  motor: { scale: 100, unit: ' %' },
  speed: { scale: 1, unit: ' rpm' },
  term: { scale: 1, unit: '' },
  voltage: { scale: 1, unit: ' V' },
}

const short = (value: number) => String(Number(value.toPrecision(3))).replace('-', '−')

function fromFirst(stamps_s: Float64Array): Float64Array {
  const first_s = stamps_s.find(Number.isFinite) ?? 0
  return stamps_s.map((stamp_s) => stamp_s - first_s)
}
