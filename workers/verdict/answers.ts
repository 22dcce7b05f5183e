import { AXES, type Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { bounceBack, type BounceBack } from '../manoeuvre/bounce-back.ts'
import { AFTER_STOP_S, LIMITS } from '../manoeuvre/detect.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { lag } from '../response/lag.ts'
import { washBand, washScore, type WashBand, type WashEvent } from '../response/prop-wash.ts'
import { throttleDrift } from '../response/throttle-steps.ts'
import { trackingError } from '../response/tracking.ts'
import type { Answer, MeasureKey } from './comparison.ts'
import { sampleAt, type EvenFlight } from './even-flight.ts'
import { explainedBySetpoint, type Explained } from './explained.ts'
import { bandLevels, type NoiseBands } from './noise-bands.ts'

/** A flight with all that its answers are measured from. */
export interface Measurable {
  readonly signals: FlightSignals
  readonly even: EvenFlight
  readonly explained: Readonly<Record<Axis, Explained | null>>
  readonly manoeuvres: readonly Manoeuvre[]
}

/** Tracking counts until this long after the stop, s: the hand's own length decides the rest. */
const TRACK_AFTER_S = 0.12
/** With motors at their top for more than this share of a manoeuvre, nothing that tuning would decide is read from it. */
export const LIMITED_SHARE = 0.1

/** Gathers what answers are measured from. */
export function measurable(
  signals: FlightSignals,
  even: EvenFlight,
  manoeuvres: readonly Manoeuvre[],
): Measurable {
  const explained = (axis: Axis) => {
    const u = even.setpoint[axis]
    const y = even.gyro[axis]
    return u && y ? explainedBySetpoint(u, y, even.rate_hz) : null
  }
  return {
    signals,
    even,
    manoeuvres,
    explained: { roll: explained('roll'), pitch: explained('pitch'), yaw: explained('yaw') },
  }
}

/** Measures the craft's answer to every manoeuvre, by id. `bands` are those that both logs can show. */
export function measureAnswers(flight: Measurable, bands: NoiseBands): Record<string, Answer> {
  const wash = washBands(flight)
  const answers: Record<string, Answer> = {}
  for (const manoeuvre of flight.manoeuvres) {
    const values: Partial<Record<MeasureKey, number>> = {}
    let bounce: BounceBack | null = null
    let reason: string | null = null
    if (manoeuvre.axis !== null && manoeuvre.stop_s !== null) {
      const stop = stopAnswer(flight, manoeuvre, manoeuvre.axis)
      Object.assign(values, stop.values)
      bounce = stop.bounce
      reason = stop.reason
    } else if (manoeuvre.kind === 'wash') Object.assign(values, washAnswer(flight.even, manoeuvre, wash))
    else if (manoeuvre.kind === 'punch' || manoeuvre.kind === 'chop')
      Object.assign(values, driftAnswer(flight.even, manoeuvre))
    else if (manoeuvre.kind === 'hover')
      Object.assign(values, bandLevels(flight.signals, manoeuvre.start_s, manoeuvre.end_s, bands))
    const top = limitedShare(flight.even, manoeuvre)
    if (top !== null && manoeuvre.kind !== 'hover') values['motorTop.craft'] = 100 * top
    if (reason === null && Object.keys(values).length === 0) reason = 'Nothing could be measured here.'
    answers[manoeuvre.id] = { values, bounceBack: bounce, reason }
  }
  return answers
}

/** Share of a manoeuvre, answer included, in which a motor stood at its top; null without motors. */
export function limitedShare(even: EvenFlight, manoeuvre: Manoeuvre): number | null {
  if (!even.atTop) return null
  const [from, to] = span(even, manoeuvre.start_s, manoeuvre.end_s + 0.3)
  let sum = 0
  let count = 0
  for (let n = from; n < to; n++) {
    if (!Number.isFinite(even.atTop[n]!)) continue
    sum += even.atTop[n]!
    count++
  }
  return count > 0 ? sum / count : null
}

function span(even: EvenFlight, start_s: number, end_s: number): [from: number, to: number] {
  return [Math.max(0, sampleAt(even, start_s)), Math.min(even.length, sampleAt(even, end_s))]
}

function stopAnswer(flight: Measurable, manoeuvre: Manoeuvre, axis: Axis) {
  const { even, manoeuvres } = flight
  const values: Partial<Record<MeasureKey, number>> = {}
  const nothing = (reason: string) => ({ values, bounce: null, reason })
  const setpoint = even.setpoint[axis]
  const gyro = even.gyro[axis]
  if (!gyro) return nothing('The log holds no gyro for this axis.')
  if (!setpoint) return nothing('The log holds no setpoint for this axis.')
  const stop_s = manoeuvre.stop_s!
  const [from, to] = span(even, manoeuvre.start_s, stop_s + TRACK_AFTER_S)
  const u = setpoint.subarray(from, to)
  const y = gyro.subarray(from, to)
  if (u.some((value, n) => !Number.isFinite(value + y[n]!)))
    return nothing('Samples are missing in this manoeuvre.')
  values[`trackingError.${axis}`] = trackingError(u, y).rms_dps
  const limited = (limitedShare(even, manoeuvre) ?? 0) > LIMITED_SHARE
  if (!limited) {
    const delay = lag(u, y, {
      rate_hz: even.rate_hz,
      maxLag_s: Math.min(0.12, (to - from) / 2.5 / even.rate_hz),
    })
    if (delay.kind === 'lag') values[`lag.${axis}`] = 1000 * delay.lag_s
  }
  // The answer is looked at until the stick moves again.
  const next_s =
    manoeuvres.find((other) => other.axis === axis && other.start_s > stop_s)?.start_s ?? Infinity
  const end_s = Math.min(stop_s + AFTER_STOP_S, next_s)
  const bounce = bounceBack({
    setpoint,
    gyro,
    iTerm: even.iTerm[axis],
    rate_hz: even.rate_hz,
    at: (stop_s - even.t0_s) * even.rate_hz,
    end: sampleAt(even, end_s),
    direction: manoeuvre.direction as 1 | -1,
    lag_s: even.lag_s[axis] ?? 0,
  })
  // What a craft at its motors' limit swings back by tells of power left, not of tuning.
  if (bounce && !limited) {
    values[`bouncePeak.${axis}`] = bounce.peak_dps
    values[`bounceAngle.${axis}`] = bounce.angle_deg
    if (bounce.settle_s !== null) values[`settling.${axis}`] = 1000 * bounce.settle_s
    if (bounce.ringFrequency_hz !== null) {
      values[`ringFrequency.${axis}`] = bounce.ringFrequency_hz
      values[`ringDamping.${axis}`] = bounce.dampingRatio!
    }
  }
  return { values, bounce, reason: null }
}

type PerAxisWash = Readonly<Record<Axis, WashBand | null>>

/** The residual's 8-40 Hz on each axis, what the setpoint explains taken off. */
function washBands({ even, explained, manoeuvres }: Measurable): PerAxisWash {
  const events = manoeuvres
    .filter(({ kind }) => kind === 'wash')
    .map((manoeuvre) => washEvent(even, manoeuvre))
    .filter((event) => event !== null)
  const band = (axis: Axis) => {
    const residual = explained[axis]?.residual
    return residual && events.length > 0 ? washBand(residual, even.rate_hz, events) : null
  }
  return { roll: band('roll'), pitch: band('pitch'), yaw: band('yaw') }
}

function washEvent(even: EvenFlight, manoeuvre: Manoeuvre): WashEvent | null {
  const start = sampleAt(even, manoeuvre.stop_s!)
  const end = start + Math.round((manoeuvre.end_s - manoeuvre.stop_s!) * even.rate_hz)
  if (start < 0 || end > even.length) return null
  return { start, end, fall: NaN, recovery: manoeuvre.inputs.step ?? NaN }
}

function washAnswer(even: EvenFlight, manoeuvre: Manoeuvre, bands: PerAxisWash) {
  const values: Partial<Record<MeasureKey, number>> = {}
  const event = washEvent(even, manoeuvre)
  if (!event) return values
  for (const axis of AXES) {
    const band = bands[axis]
    const score = band ? washScore(band, event) : null
    if (score?.kind === 'given') values[`washScore.${axis}`] = score.value
  }
  return values
}

function driftAnswer(even: EvenFlight, manoeuvre: Manoeuvre) {
  const values: Partial<Record<MeasureKey, number>> = {}
  const { gyro, setpoint } = even
  if (!gyro.roll || !gyro.pitch || !gyro.yaw || !setpoint.roll || !setpoint.pitch || !setpoint.yaw)
    return values
  const step = {
    kind: manoeuvre.kind as 'punch' | 'chop',
    start: Math.max(0, sampleAt(even, manoeuvre.stop_s!)),
    from: NaN,
    to: NaN,
  }
  const drift = throttleDrift(
    step,
    { roll: gyro.roll, pitch: gyro.pitch, yaw: gyro.yaw },
    { roll: setpoint.roll, pitch: setpoint.pitch, yaw: setpoint.yaw },
    even.rate_hz,
    LIMITS.throttleStep.quiet_s,
  )
  if (!drift) return values
  // Which way it drifts is chance; how far is the craft's.
  for (const axis of AXES) values[`throttleDrift.${axis}`] = Math.abs(drift.drift_deg[axis])
  return values
}
