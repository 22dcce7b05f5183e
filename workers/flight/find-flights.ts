import { medianStep_s } from '../clock/clock.ts'
import type { FlightSpan } from '../log/log.ts'

/**
 * Finds the flights in a log: from take-off to landing, by motors or throttle and gyro. The thresholds are our own,
 * no source: they are written here in one place.
 */

/** Power above this share of what the log's stronger moments show counts as flying... */
const SHARE_OF_STRONG = 0.3
/** ...but never below this share of full power, which idling motors reach. */
const LEAST_POWER = 0.08
/** Turning faster than this in the root mean square is not standing on the ground, deg/s. */
const MOVING_DPS = 15
/** Power may be taken away in the air: for this long at any rate, and longer while the craft turns. */
const GLIDE_S = 2
const MOVING_GLIDE_S = 12
/** A hop of less than this is offered as short. */
const SHORT_S = 5
/** A blip of power shorter than this is no flight at all: motors tested on the ground. */
const BLIP_S = 0.5
const WINDOW_S = 0.1

/** What flights are told by: one value a row. */
export interface FlightClues {
  /** Mended, never decreasing. */
  readonly time_s: Float64Array
  /** Usual step from row to row; found from the stamps unless given. */
  readonly step_s?: number
  /** First rows of power cycles after the first. */
  readonly restarts: readonly number[]
  /** Mean of the motors, or the throttle: 0..1, NaN where missing. Null when the log has neither. */
  readonly power: Float32Array | null
  readonly powerFrom: 'motors' | 'throttle'
  /** Speed of turning about all axes together, deg/s, NaN where missing. Null without a gyro. */
  readonly turn_dps: Float32Array | null
}

/** A log's rows in windows of equal length, power cycle by power cycle, each of which begins with a window. */
export interface ClueWindows {
  readonly cycles: readonly { readonly from: number; readonly to: number }[]
  readonly rows: number
}

/** The same clues, one value a window. */
export interface WindowedClues {
  readonly time_s: Float64Array
  readonly windows: ClueWindows
  /** Means, NaN for a window without a value. */
  readonly power: Float64Array | null
  readonly powerFrom: 'motors' | 'throttle'
  /** Root mean squares, 0 for a window without a value. */
  readonly turn_dps: Float64Array | null
}

/** What a window shows. */
interface Window {
  readonly row: number
  readonly power: number
  readonly turn_dps: number
}

/**
 * Lays windows over a log.
 * @param restarts first rows of power cycles after the first
 * @param step_s usual step from row to row; found from the stamps unless given
 */
export function clueWindows(
  time_s: Float64Array,
  restarts: readonly number[],
  step_s: number = medianStep_s(time_s),
): ClueWindows {
  const edges = [0, ...restarts.filter((row) => row > 0 && row < time_s.length), time_s.length]
  const cycles = edges.slice(1).map((to, index) => ({ from: edges[index] as number, to }))
  return { cycles, rows: Math.max(1, Math.round(WINDOW_S / step_s) || 1) }
}

/** Mean of each window's finite values; NaN for a window without any. */
export function windowMeans(windows: ClueWindows, values: Float32Array): Float64Array {
  return overWindows(windows, (from, to) => {
    let sum = 0
    let count = 0
    for (let row = from; row < to; row += 1) {
      const value = values[row] as number
      if (!Number.isFinite(value)) continue
      sum += value
      count += 1
    }
    return count > 0 ? sum / count : NaN
  })
}

/** Root mean square of each window's finite values; 0 for a window without any. */
export function windowSizes(windows: ClueWindows, values: Float32Array): Float64Array {
  return overWindows(windows, (from, to) => {
    let square = 0
    let count = 0
    for (let row = from; row < to; row += 1) {
      const value = values[row] as number
      if (!Number.isFinite(value)) continue
      square += value * value
      count += 1
    }
    return count > 0 ? Math.sqrt(square / count) : 0
  })
}

function overWindows({ cycles, rows }: ClueWindows, of: (from: number, to: number) => number): Float64Array {
  const count = cycles.reduce((sum, { from, to }) => sum + Math.ceil((to - from) / rows), 0)
  const out = new Float64Array(count)
  let window = 0
  for (const { from, to } of cycles) {
    for (let row = from; row < to; row += rows) out[window++] = of(row, Math.min(to, row + rows))
  }
  return out
}

/**
 * The flights in order; never empty. A cycle in which nothing tells flights apart is given whole.
 */
export function findFlights({
  time_s,
  step_s,
  restarts,
  power,
  powerFrom,
  turn_dps,
}: FlightClues): FlightSpan[] {
  const windows = clueWindows(time_s, restarts, step_s)
  return findFlightsIn({
    time_s,
    windows,
    power: power && windowMeans(windows, power),
    powerFrom,
    turn_dps: turn_dps && windowSizes(windows, turn_dps),
  })
}

/** As `findFlights`, of clues that stand in windows already. */
export function findFlightsIn(clues: WindowedClues): FlightSpan[] {
  const { time_s } = clues
  let seen = 0
  const cycles = clues.windows.cycles.map(({ from, to }) => {
    const windows: Window[] = []
    for (let row = from; row < to; row += clues.windows.rows, seen += 1) {
      windows.push({ row, power: clues.power?.[seen] ?? NaN, turn_dps: clues.turn_dps?.[seen] ?? 0 })
    }
    return { from, to, windows }
  })
  const powers = cycles
    .flatMap(({ windows }) => windows.map((window) => window.power))
    .filter((power) => power > 0)
    .sort((a, b) => a - b)
  const strong = powers[Math.floor(powers.length * 0.9)] ?? NaN
  const threshold = Math.max(LEAST_POWER, SHARE_OF_STRONG * strong)
  const hasPower = powers.length > 0 && strong > LEAST_POWER
  const spans: FlightSpan[] = []
  for (const [index, { from, to, windows }] of cycles.entries()) {
    const flown = hasPower
      ? stretches(windows, (window) => window.power >= threshold, bridgePower(windows, time_s))
      : stretches(
          windows,
          (window) => window.turn_dps >= MOVING_DPS,
          (a, b) => span_s(time_s, a, b) <= GLIDE_S,
        )
    const by = hasPower ? clues.powerFrom : 'gyro'
    const found = flown
      .map(([first, last]) => [rowOf(windows, first, from), endOf(windows, last, to)] as const)
      .filter(([start, end]) => span_s(time_s, start, end - 1) >= BLIP_S)
    if (found.length === 0) spans.push(whole(time_s, from, to, index + 1))
    for (const [start, end] of found) spans.push(flight(time_s, from, start, end, index + 1, by))
  }
  const flights = spans.filter((span) => span.kind !== 'whole')
  // Beside real flights, a cycle in which nobody flew is not worth offering.
  return flights.length > 0 ? flights : spans
}

/** Stretches of windows that are on, joined where `bridges` says that the pause between two belongs to the flight. */
function stretches(
  windows: readonly Window[],
  isOn: (window: Window) => boolean,
  bridges: (fromRow: number, toRow: number) => boolean,
): [number, number][] {
  const found: [number, number][] = []
  windows.forEach((window, index) => {
    if (!isOn(window)) return
    const last = found.at(-1)
    if (last && (last[1] === index - 1 || bridges((windows[last[1] + 1] as Window).row, window.row)))
      last[1] = index
    else found.push([index, index])
  })
  return found
}

/** Without power, a craft is still flying for a moment, and for longer while it keeps turning. */
function bridgePower(windows: readonly Window[], time_s: Float64Array) {
  return (fromRow: number, toRow: number): boolean => {
    const pause_s = span_s(time_s, fromRow, toRow)
    if (pause_s <= GLIDE_S) return true
    if (pause_s > MOVING_GLIDE_S) return false
    const between = windows.filter((window) => window.row >= fromRow && window.row < toRow)
    return between.filter((window) => window.turn_dps >= MOVING_DPS).length > 0.8 * between.length
  }
}

const rowOf = (windows: readonly Window[], index: number, from: number): number => windows[index]?.row ?? from
const endOf = (windows: readonly Window[], index: number, to: number): number => windows[index + 1]?.row ?? to
const span_s = (time_s: Float64Array, from: number, to: number): number =>
  (time_s[to] as number) - (time_s[from] as number)

function flight(
  time_s: Float64Array,
  cycleFrom: number,
  from: number,
  to: number,
  cycle: number,
  by: string,
): FlightSpan {
  const start_s = span_s(time_s, cycleFrom, from)
  const duration_s = span_s(time_s, from, to - 1)
  const kind = duration_s < SHORT_S ? 'short' : 'flight'
  const end_s = start_s + duration_s
  const what = kind === 'short' ? 'A short hop' : 'Take-off to landing'
  return {
    from,
    to,
    start_s,
    duration_s,
    kind,
    cycle,
    how: `${what} from ${start_s.toFixed(1)} s to ${end_s.toFixed(1)} s, told by the ${by}.`,
  }
}

function whole(time_s: Float64Array, from: number, to: number, cycle: number): FlightSpan {
  const duration_s = to > from ? span_s(time_s, from, to - 1) : 0
  const how = 'Nothing tells where a flight begins and ends: the whole is taken.'
  return { from, to, start_s: 0, duration_s, kind: 'whole', cycle, how }
}
