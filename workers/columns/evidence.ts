/**
 * What the numbers themselves say about columns: how large they are, how two of them move together.
 * Works on a sample of rows; NaN where a cell was empty.
 */

/** How large a column's values are. */
export interface Size {
  readonly rms: number
  /** The size that all but 0.2 % of the values stay below. */
  readonly peak: number
  readonly min: number
  readonly max: number
  readonly count: number
}

const sizes = new WeakMap<Float64Array, Size>()
/** Peaks are judged from this many values at most, evenly spread. */
const PEAK_VALUES = 8192

/** Sizes of a column's finite values, remembered: several questions ask for the same column. */
export function sizeOf(values: Float64Array): Size {
  const known = sizes.get(values)
  if (known) return known
  let count = 0
  let square = 0
  let min = Infinity
  let max = -Infinity
  for (let row = 0; row < values.length; row += 1) {
    const value = values[row] as number
    if (!(Math.abs(value) < Infinity)) continue
    count += 1
    square += value * value
    if (value < min) min = value
    if (value > max) max = value
  }
  let peak: number | null = null
  const size: Size = {
    rms: Math.sqrt(square / count),
    min,
    max,
    count,
    get peak() {
      return (peak ??= peakOf(values))
    },
  }
  sizes.set(values, size)
  return size
}

function peakOf(values: Float64Array): number {
  const every = Math.ceil(values.length / PEAK_VALUES)
  const some: number[] = []
  for (let row = 0; row < values.length; row += every) {
    const value = Math.abs(values[row] as number)
    if (value < Infinity) some.push(value)
  }
  const sorted = Float64Array.from(some).sort()
  return sorted[Math.floor((sorted.length - 1) * 0.998)] ?? NaN
}

/** How an answer follows a cause. */
export interface Relation {
  /** Mean correlation over the windows in which the answer moves, at the lag that serves all of them best. */
  readonly r: number
  readonly lagRows: number
  /** Size of the answer's movement against the cause's, from standard deviations, so that noise does not shrink it. */
  readonly ratio: number
  readonly windows: number
}

/**
 * Relates two columns window by window: a long stretch on the ground, where a setpoint winds up, then counts no more
 * than any other window, and windows in which the answer rests do not count at all.
 * @param maxLagRows the answer may come this many rows later
 * @returns null when there are too few rows or neither moves
 */
export function relate(
  cause: Float64Array,
  answer: Float64Array,
  windowRows: number,
  maxLagRows: number,
): Relation | null {
  const starts: number[] = []
  for (let start = 0; start + windowRows + maxLagRows <= answer.length; start += windowRows)
    starts.push(start)
  const spreads = starts.map((start) => spread(answer, start + maxLagRows, windowRows))
  const ordered = spreads.filter(Number.isFinite).sort((a, b) => a - b)
  const strong = ordered[Math.floor((ordered.length - 1) * 0.9)] ?? 0
  const active = starts.filter((start, index) => {
    const moves = (spreads[index] as number) > 0.3 * strong && strong > 0
    return moves && spread(cause, start + maxLagRows, windowRows) > 0
  })
  if (active.length === 0) return null
  let best: Relation | null = null
  const step = Math.max(1, Math.floor(maxLagRows / 24))
  for (let lag = 0; lag <= maxLagRows; lag += step) {
    let sum = 0
    const ratios: number[] = []
    for (const start of active) {
      const pair = correlate(cause, start + maxLagRows - lag, answer, start + maxLagRows, windowRows)
      sum += pair.r
      ratios.push(pair.ratio)
    }
    const r = sum / active.length
    if (best && Math.abs(r) <= Math.abs(best.r)) continue
    ratios.sort((a, b) => a - b)
    best = { r, lagRows: lag, ratio: ratios[ratios.length >> 1] as number, windows: active.length }
  }
  return best
}

function spread(values: Float64Array, from: number, rows: number): number {
  let sum = 0
  let square = 0
  const first = values[from] as number
  for (let row = from; row < from + rows; row += 1) {
    const value = (values[row] as number) - first
    sum += value
    square += value * value
  }
  return Math.sqrt(Math.max(0, square / rows - (sum / rows) ** 2))
}

function correlate(
  a: Float64Array,
  aFrom: number,
  b: Float64Array,
  bFrom: number,
  rows: number,
): { r: number; ratio: number } {
  const a0 = a[aFrom] as number
  const b0 = b[bFrom] as number
  let sa = 0
  let sb = 0
  let saa = 0
  let sbb = 0
  let sab = 0
  for (let row = 0; row < rows; row += 1) {
    const x = (a[aFrom + row] as number) - a0
    const y = (b[bFrom + row] as number) - b0
    sa += x
    sb += y
    saa += x * x
    sbb += y * y
    sab += x * y
  }
  const va = saa - (sa * sa) / rows
  const vb = sbb - (sb * sb) / rows
  const r = va > 0 && vb > 0 ? (sab - (sa * sb) / rows) / Math.sqrt(va * vb) : 0
  return { r: Number.isFinite(r) ? r : 0, ratio: Math.sqrt(vb / va) }
}

/**
 * Share of steps that are not negative, and of steps that are zero; empty cells are stepped over. `median` is that of
 * the steps above zero, found when it is asked for; NaN where there are none, or hardly any.
 */
export function stepsOf(values: Float64Array): {
  readonly rising: number
  readonly still: number
  readonly median: number
} {
  let count = 0
  let notFalling = 0
  let still = 0
  let last = NaN
  for (let row = 0; row < values.length; row += 1) {
    const value = values[row] as number
    if (!Number.isFinite(value)) continue
    if (value >= last) {
      notFalling += 1
      if (value === last) still += 1
    }
    if (!Number.isNaN(last)) count += 1
    last = value
  }
  if (count === 0) return { rising: 0, still: 0, median: NaN }
  const rising = notFalling / count
  return {
    rising,
    still: still / count,
    get median() {
      return rising > 0.7 ? medianRise(values) : NaN
    },
  }
}

/** Memory to sort in, again and again. */
const rises = new Float64Array(4 * PEAK_VALUES)

function medianRise(values: Float64Array): number {
  // The first steps tell the rate as well as all of them.
  const rows = Math.min(values.length, rises.length)
  let count = 0
  let last = NaN
  for (let row = 0; row < rows; row += 1) {
    const value = values[row] as number
    if (!Number.isFinite(value)) continue
    if (value > last) rises[count++] = value - last
    last = value
  }
  const sorted = rises.subarray(0, count).sort()
  return sorted[count >> 1] ?? NaN
}

/** Central differences over time; angles in degrees are unwrapped first when they jump by more than half a turn. */
export function derivative(values: Float64Array, time_s: Float64Array, turn: number): Float64Array {
  const out = new Float64Array(values.length)
  const delta = (from: number, to: number): number => {
    const raw = (values[to] as number) - (values[from] as number)
    return raw - turn * Math.round(raw / turn)
  }
  for (let row = 1; row + 1 < values.length; row += 1) {
    const dt = (time_s[row + 1] as number) - (time_s[row - 1] as number)
    out[row] = dt > 0 ? (delta(row - 1, row) + delta(row, row + 1)) / dt : NaN
  }
  if (out.length > 2) {
    out[0] = out[1] as number
    out[out.length - 1] = out[out.length - 2] as number
  }
  return out
}

/** Averages each `factor` neighbouring rows into one. */
export function thin(values: Float64Array, factor: number): Float64Array {
  if (factor <= 1) return values
  const out = new Float64Array(Math.floor(values.length / factor))
  for (let index = 0; index < out.length; index += 1) {
    let sum = 0
    for (let k = 0; k < factor; k += 1) sum += values[index * factor + k] as number
    out[index] = sum / factor
  }
  return out
}
