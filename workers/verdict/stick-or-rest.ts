import type { Axis } from '../flight/axes.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { MAD_TO_SD, median, quantile } from '../statistics/moments.ts'
import { normalQuantile } from '../statistics/distributions.ts'
import { sampleAt, type EvenFlight } from './even-flight.ts'
import type { Explained } from './explained.ts'

/** Did the stick make a movement? The rest may be wind, wash or nonlinearity, and never is "the quad's fault" for sure. */
export type StickWord =
  'the stick' | 'mostly the stick' | 'not explained by the stick' | 'quiet' | "can't tell"

export interface StickOrRest {
  readonly word: StickWord
  /** In one plain sentence. */
  readonly sentence: string
  /** Share of the span's movement that the setpoint explains, 0..1; null when it can't be told. */
  readonly share: number | null
  /** Largest whitened residual in the span over its scale in quiet flight. */
  readonly peak: number | null
  /** Above this it does not happen by chance more than once a minute in this flight's quiet stretches. */
  readonly threshold: number | null
  readonly falseAlarms: FalseAlarms | null
}

/** How often the threshold is passed by chance. */
export interface FalseAlarms {
  /** Passings a minute by Rice's rate for normal noise, at the threshold before the tails were allowed for. */
  readonly wanted_pmin: number
  /** Counted in the flight's own quiet stretches. */
  readonly counted_pmin: number
  readonly quiet_s: number
}

/** A movement that stands out of the residual. */
export interface Twitch {
  readonly axis: Axis
  readonly t_s: number
  /** Largest residual near it, deg/s. */
  readonly size_dps: number
  readonly judged: StickOrRest
}

/** The residual of one axis made ready: whitened, scaled, with its threshold. */
export interface Watch {
  readonly axis: Axis
  readonly even: EvenFlight
  readonly gyro: Float64Array
  readonly explained: Explained
  /** Whitened residual over its robust deviation in quiet flight. */
  readonly z: Float64Array
  readonly threshold: number
  readonly falseAlarms: FalseAlarms
  /** Above this a residual is too sudden for a hand, whatever the stick moved meanwhile. */
  readonly sudden: number
  /** Robust deviation of the quiet residual itself, deg/s. */
  readonly quiet_dps: number
}

const ORDER = 6
/** Quiet flight needed to know what chance does, s. */
const LEAST_QUIET_S = 2
const WANTED_PMIN = 1
/** A movement is the stick's from this share on, and not the stick's below that (our own limits, no source). */
const SHARE = { stick: 0.75, rest: 0.45 } as const
/** Too sudden for a hand: so many times above the threshold, and above what most stick manoeuvres leave unexplained (our own limits). */
const SUDDEN = { overThreshold: 3.5, overUsual: 3 } as const
/** Movements below this many quiet deviations are no movement. */
const MOVES = 3
/** Passings closer than this are one twitch, s. */
const APART_S = 0.12
const BEFORE_S = 0.03
const AFTER_S = 0.12

/** Two-sided passings a second of +-u by normal noise of even power up to `band_hz` and unit variance: Rice 1945 [from memory]. */
export function riceRate_ps(u: number, band_hz: number): number {
  return (2 * band_hz * Math.exp(-0.5 * u * u)) / Math.sqrt(3)
}

/** The level that is passed, either way, so often: inverse of `riceRate_ps`. */
export function riceLevel(rate_ps: number, band_hz: number): number {
  return Math.sqrt(2 * Math.log((2 * band_hz) / Math.sqrt(3) / rate_ps))
}

/**
 * Makes an axis ready to be asked: the residual of the cross-fitted prediction is whitened by an autoregression learnt in
 * quiet flight (hovering stretches), scaled by 1.4826 MAD there, and given the threshold that Rice's formula passes once a
 * minute, widened by as much as the quiet tails are heavier than normal. Null when quiet flight or the residual is missing.
 */
export function watchAxis(
  axis: Axis,
  even: EvenFlight,
  explained: Explained | null,
  manoeuvres: readonly Manoeuvre[],
): Watch | null {
  const gyro = even.gyro[axis]
  if (!gyro || !explained) return null
  const { residual, rate_hz } = explained
  const quiet = manoeuvres
    .filter(({ kind }) => kind === 'hover')
    .map(
      ({ start_s, end_s }) =>
        [Math.max(0, sampleAt(even, start_s)), Math.min(residual.length, sampleAt(even, end_s))] as const,
    )
  const still = quiet.flatMap(([from, to]) => Array.from(residual.subarray(from, to))).filter(Number.isFinite)
  if (still.length < LEAST_QUIET_S * rate_hz) return null
  const centre = median(still)
  const model = autoregression(residual, quiet, centre)
  const white = whitened(residual, model, centre)
  const calm = quiet
    .flatMap(([from, to]) => Array.from(white.subarray(from + ORDER, to)))
    .filter(Number.isFinite)
  const scale = MAD_TO_SD * median(calm.map(Math.abs))
  if (!(scale > 0)) return null
  const z = white.map((value) => value / scale)
  const sizes = Float64Array.from(calm, (value) => Math.abs(value) / scale).sort()
  const band_hz = rate_hz / 2
  const tail = Math.max(1, quantile(sizes, 0.99) / -normalQuantile(0.005))
  const threshold = riceLevel(WANTED_PMIN / 60, band_hz) * tail
  const usual = manoeuvres
    .filter((one) => one.axis === axis && one.stop_s !== null)
    .map(({ start_s, stop_s }) => largest(z, sampleAt(even, start_s), sampleAt(even, stop_s! + AFTER_S)))
  const sudden = Math.max(
    SUDDEN.overThreshold * threshold,
    usual.length > 0 ? SUDDEN.overUsual * median(usual) : 0,
  )
  const passed = quiet.reduce((sum, [from, to]) => sum + passings(z, from, to, threshold, rate_hz).length, 0)
  const quiet_s = still.length / rate_hz
  return {
    axis,
    even,
    gyro,
    explained,
    z,
    threshold,
    sudden,
    falseAlarms: { wanted_pmin: WANTED_PMIN, counted_pmin: (60 * passed) / quiet_s, quiet_s },
    quiet_dps: MAD_TO_SD * median(still.map((value) => Math.abs(value - centre))),
  }
}

/** Yule-Walker from the quiet stretches, by Levinson's recursion. */
function autoregression(
  residual: Float64Array,
  quiet: readonly (readonly [number, number])[],
  centre: number,
): Float64Array {
  const sums = new Float64Array(ORDER + 1)
  for (const [from, to] of quiet)
    for (let lag = 0; lag <= ORDER; lag++)
      for (let n = from + lag; n < to; n++) {
        const product = (residual[n]! - centre) * (residual[n - lag]! - centre)
        if (product - product === 0) sums[lag]! += product
      }
  let error = sums[0]! * (1 + 1e-9)
  let model = new Float64Array(ORDER)
  for (let k = 0; k < ORDER && error > 0; k++) {
    let reflection = sums[k + 1]!
    for (let j = 0; j < k; j++) reflection -= model[j]! * sums[k - j]!
    reflection /= error
    const next = model.slice()
    next[k] = reflection
    for (let j = 0; j < k; j++) next[j] = model[j]! - reflection * model[k - 1 - j]!
    model = next
    error *= 1 - reflection * reflection
  }
  return model
}

function whitened(residual: Float64Array, model: Float64Array, centre: number): Float64Array {
  return residual.map((value, n) => {
    if (n < ORDER) return NaN
    let rest = value - centre
    for (let k = 0; k < ORDER; k++) rest -= model[k]! * (residual[n - 1 - k]! - centre)
    return rest
  })
}

/** Samples of the largest |z| of each run of passings, runs closer than APART_S joined. */
function passings(z: Float64Array, from: number, to: number, threshold: number, rate_hz: number): number[] {
  const found: number[] = []
  let last = -Infinity
  for (let n = Math.max(0, from); n < Math.min(to, z.length); n++) {
    const size = Math.abs(z[n]!)
    if (!(size > threshold)) continue
    if (n - last > APART_S * rate_hz) found.push(n)
    else if (size > Math.abs(z[found.at(-1)!]!)) found[found.length - 1] = n
    last = n
  }
  return found
}

/** What of the movement in start_s..end_s the stick made. */
export function judgeSpan(watch: Watch | null, start_s: number, end_s: number): StickOrRest {
  if (!watch) {
    const sentence = "Can't tell: setpoint, gyro or enough quiet flight to compare with is missing."
    return { word: "can't tell", sentence, share: null, peak: null, threshold: null, falseAlarms: null }
  }
  const { even, gyro, explained, z, threshold, falseAlarms, quiet_dps } = watch
  const from = Math.max(0, sampleAt(even, start_s))
  const to = Math.min(gyro.length, sampleAt(even, end_s) + 1)
  const peak = largest(z, from, to)
  const whole = movement(gyro, from, to)
  const rest = movement(explained.residual, from, to)
  const base = { peak, threshold, falseAlarms }
  if (!Number.isFinite(whole + rest))
    return {
      ...base,
      word: "can't tell",
      sentence: "Can't tell: samples are missing in this span.",
      share: null,
    }
  const share = whole > 0 ? Math.max(0, 1 - (rest / whole) ** 2) : 0
  const percent = `${(100 * share).toFixed(0)} %`
  const stands = peak > threshold
  if (whole < MOVES * quiet_dps && !stands)
    return { ...base, word: 'quiet', sentence: 'Nothing here moved more than in quiet flight.', share }
  if (peak > watch.sudden && share >= SHARE.rest)
    return {
      ...base,
      word: 'not explained by the stick',
      sentence: `The stick explains ${percent} of this movement, but not the sudden part of it (wind, wash and nonlinearity look alike).`,
      share,
    }
  if (share >= SHARE.stick)
    return { ...base, word: 'the stick', sentence: `The stick explains ${percent} of this movement.`, share }
  if (share < SHARE.rest && (stands || rest > MOVES * quiet_dps))
    return {
      ...base,
      word: 'not explained by the stick',
      sentence: `The stick explains ${percent} of this movement; the rest is not explained by the stick (wind, wash and nonlinearity look alike).`,
      share,
    }
  return {
    ...base,
    word: 'mostly the stick',
    sentence: `The stick explains ${percent} of this movement; part of it is not explained by the stick.`,
    share,
  }
}

function largest(values: Float64Array, from: number, to: number): number {
  let most = 0
  for (let n = Math.max(0, from); n < Math.min(to, values.length); n++)
    if (Math.abs(values[n]!) > most) most = Math.abs(values[n]!)
  return most
}

/** Root mean square about the span's own straight line; NaN when samples are missing. */
function movement(values: Float64Array, from: number, to: number): number {
  const count = to - from
  if (count < 3) return NaN
  let mean = 0
  for (let n = from; n < to; n++) mean += values[n]! / count
  const middle = 0.5 * (from + to - 1)
  let moment = 0
  let spread = 0
  for (let n = from; n < to; n++) {
    moment += (n - middle) * (values[n]! - mean)
    spread += (n - middle) ** 2
  }
  const slope = moment / spread
  let squares = 0
  for (let n = from; n < to; n++) squares += (values[n]! - mean - slope * (n - middle)) ** 2
  return Math.sqrt(squares / count)
}

/** Movements that stand out of the residual, each judged in a window round it. */
export function findTwitches(watch: Watch | null): Twitch[] {
  if (!watch) return []
  const { axis, even, explained, z, threshold } = watch
  return passings(z, 0, z.length, threshold, even.rate_hz).map((at) => {
    const t_s = even.t0_s + at / even.rate_hz
    let size_dps = 0
    for (let n = at; n < Math.min(z.length, at + AFTER_S * even.rate_hz); n++)
      size_dps = Math.max(size_dps, Math.abs(explained.residual[n]!) || 0)
    return { axis, t_s, size_dps, judged: judgeSpan(watch, t_s - BEFORE_S, t_s + AFTER_S) }
  })
}
