import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import type { Pair } from './comparison.ts'

/** One signal about the moment that a pair is laid over each other by; times are seconds from it. NaN in gaps. */
export interface Trace {
  readonly t_s: Float64Array
  readonly rate_dps: Float64Array
}

/** Both flights' answers to a pair of manoeuvres, B laid over A by the stop (or the throttle's step). Null where not logged. */
export interface PairTraces {
  /** The axis that is drawn: the manoeuvre's own, or for throttle manoeuvres the one that differs most. */
  readonly axis: Axis
  readonly from_s: number
  readonly to_s: number
  readonly a: { readonly setpoint: Trace | null; readonly gyro: Trace | null }
  readonly b: { readonly setpoint: Trace | null; readonly gyro: Trace | null }
  /** Largest |rate| of all four: one scale for both flights. */
  readonly reach_dps: number
}

const BEFORE_S = 0.12
/** The answer is looked at for so long, as where the bounce-back is measured. */
const AFTER_S = 0.5
/** A scale smaller than this would make noise look like flying. */
const LEAST_REACH_DPS = 20

/**
 * The traces of a pair, thinned to means over at most `points` cells (a log that is slower keeps its own samples). Null
 * when either manoeuvre is not among the flights'. Swapping the flights swaps the traces.
 */
export function pairTraces(
  flights: Readonly<Record<'a' | 'b', FlightSignals>>,
  manoeuvres: Readonly<Record<'a' | 'b', readonly Manoeuvre[]>>,
  pair: Pick<Pair, 'a' | 'b' | 'axis' | 'differences'>,
  points: number,
): PairTraces | null {
  const a = manoeuvres.a.find(({ id }) => id === pair.a)
  const b = manoeuvres.b.find(({ id }) => id === pair.b)
  if (!a || !b) return null
  const axis = pair.axis ?? axisThatDiffers(pair)
  const from_s = -Math.max(...[a, b].map((one) => anchorOf(one) - one.start_s)) - BEFORE_S
  const to_s = Math.max(AFTER_S, ...[a, b].map((one) => one.end_s - anchorOf(one)))
  const of = (signals: FlightSignals, manoeuvre: Manoeuvre) => {
    const at_s = anchorOf(manoeuvre)
    const trace = (channel: `setpoint.${Axis}` | `gyro.${Axis}`) =>
      traceOf(signals, signals.channels[channel], at_s, from_s, to_s, points)
    return { setpoint: trace(`setpoint.${axis}`), gyro: trace(`gyro.${axis}`) }
  }
  const traces = { a: of(flights.a, a), b: of(flights.b, b) }
  let reach_dps = LEAST_REACH_DPS
  for (const { setpoint, gyro } of [traces.a, traces.b])
    for (const trace of [setpoint, gyro])
      for (const value of trace?.rate_dps ?? []) if (Math.abs(value) > reach_dps) reach_dps = Math.abs(value)
  return { axis, from_s, to_s, ...traces, reach_dps }
}

/** What a pair is laid over each other by. */
export const anchorOf = (manoeuvre: Manoeuvre): number => manoeuvre.stop_s ?? manoeuvre.start_s

function axisThatDiffers({ differences }: Pick<Pair, 'differences'>): Axis {
  let found: Axis = 'roll'
  let most = 0
  for (const { key, difference } of differences) {
    const axis = key.slice(key.indexOf('.') + 1)
    if (axis === 'craft' || !(Math.abs(difference) > most)) continue
    most = Math.abs(difference)
    found = axis as Axis
  }
  return found
}

function traceOf(
  { t_s }: FlightSignals,
  samples: Float32Array | undefined,
  at_s: number,
  from_s: number,
  to_s: number,
  points: number,
): Trace | null {
  if (!samples) return null
  const from = firstAtOrAfter(t_s, at_s + from_s)
  const to = firstAfter(t_s, at_s + to_s)
  const count = to - from
  if (count < 2) return null
  const cells = Math.min(points, count)
  const t = new Float64Array(cells)
  const rate = new Float64Array(cells)
  for (let cell = 0; cell < cells; cell++) {
    const first = from + Math.floor((cell * count) / cells)
    const end = from + Math.floor(((cell + 1) * count) / cells)
    let time = 0
    let sum = 0
    for (let n = first; n < end; n++) {
      time += t_s[n]!
      sum += samples[n]!
    }
    t[cell] = time / (end - first) - at_s
    rate[cell] = sum / (end - first)
  }
  return { t_s: t, rate_dps: rate }
}
