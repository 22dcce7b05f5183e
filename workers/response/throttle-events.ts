import { AXES, perAxis, type PerAxis } from '../flight/axes.ts'
import { given, refused, type Result } from '../signal/result.ts'
import type { OutputErrorFit } from './output-error.ts'
import { findWashEvents, WASH_METHOD, washBand, washScore, type WashEvent } from './prop-wash.ts'
import { simulateSecondOrder } from './second-order.ts'
import { findThrottleSteps, throttleDrift, type ThrottleDrift } from './throttle-steps.ts'
import { decimated } from '../signal/decimate.ts'
import { withScratch, type Scratch } from '../signal/scratch.ts'
import { runsOf } from '../signal/segments.ts'
import { studentQuantile } from '../signal/student.ts'

export interface ThrottleSeries {
  /** 0..1 */
  readonly throttle: ArrayLike<number>
  readonly gyro: PerAxis<ArrayLike<number>>
  readonly setpoint: PerAxis<ArrayLike<number>>
  readonly rate_hz: number
  readonly breaks?: ArrayLike<number>
  /** Fits of each axis's response (see stepResponse), with which the setpoint's part is taken out; null where refused. */
  readonly fits?: PerAxis<OutputErrorFit | null>
}

/** What throttle movements did to the craft. */
export interface ThrottleEvents {
  readonly drifts: readonly ThrottleDrift[]
  /** Root mean square drift of all throttle steps per axis, deg. */
  readonly drift: PerAxis<Result<number>>
  readonly washEvents: readonly WashEvent[]
  /** One score per event and axis. */
  readonly washScores: PerAxis<readonly Result<number>[]>
  /** Power of all events together over the quiet baseline, dB. */
  readonly wash: PerAxis<Result<number>>
}

export const DRIFT_METHOD = { id: 'throttle-drift', version: 2 }

/** Shaking of 8-40 Hz is looked for at no less than this rate. */
const WASH_RATE_HZ = 400
/** Fewer events than this are shown one by one but not summed up (common practice, no source). */
const LEAST_EVENTS = 2

/**
 * Throttle-step drift and prop wash over a span, by our own definitions (see throttle-steps.ts and prop-wash.ts): no
 * standard is known, so compare them between flights of this program only. Shaking that the stick asked for is taken
 * out by the fitted response, or as gyro - setpoint where there is no fit, which is said.
 */
export function throttleEvents(series: ThrottleSeries): ThrottleEvents {
  const { throttle, gyro, setpoint, rate_hz } = series
  const drifts = findThrottleSteps(throttle, rate_hz).flatMap((step) => {
    const drift = throttleDrift(step, gyro, setpoint, rate_hz)
    return drift ? [drift] : []
  })
  const washEvents = findWashEvents(throttle, rate_hz)
  const factor = Math.max(1, Math.floor(rate_hz / WASH_RATE_HZ))
  const slowEvents = washEvents.map((event) => ({
    ...event,
    start: Math.floor(event.start / factor),
    end: Math.floor(event.end / factor),
  }))
  const washScores = perAxis((axis) =>
    withScratch((scratch) => {
      const { residual, breaks } = residualOf(series, axis, factor, scratch)
      const band = washBand(residual, rate_hz / factor, slowEvents, breaks, scratch.doubles)
      return slowEvents.map((event) => washScore(band, event))
    }),
  )
  return {
    drifts,
    drift: perAxis((axis) => driftOf(drifts, axis)),
    washEvents,
    washScores,
    wash: perAxis((axis) => washOf(washScores[axis], series.fits?.[axis] != null)),
  }
}

type Axis = (typeof AXES)[number]

function driftOf(drifts: readonly ThrottleDrift[], axis: Axis): Result<number> {
  const basis = { method: DRIFT_METHOD, segments: drifts.length }
  if (drifts.length < LEAST_EVENTS) {
    return refused('There are fewer than two punches or chops out of quiet flight.', basis)
  }
  const squares = drifts.map(({ drift_deg }) => drift_deg[axis] ** 2)
  const { mean, half } = meanAndHalf(squares)
  return given(
    Math.sqrt(mean),
    'deg',
    half === null ? { ...basis, cautions: [TOO_FEW] } : basis,
    half === null
      ? null
      : {
          low: Math.sqrt(Math.max(0, mean - half)),
          high: Math.sqrt(mean + half),
          coverage: 0.95,
          covers: 'sampling error only',
        },
  )
}

const TOO_FEW = 'Fewer than four events: no interval can be given.'

/** Mean and half of its 95 % interval by Student's t; null with fewer than four values. */
function meanAndHalf(values: readonly number[]): { mean: number; half: number | null } {
  const count = values.length
  const mean = values.reduce((sum, value) => sum + value, 0) / count
  if (count < 4) return { mean, half: null }
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (count - 1)
  return { mean, half: studentQuantile(0.975, count - 1) * Math.sqrt(variance / count) }
}

function washOf(scores: readonly Result<number>[], fitted: boolean): Result<number> {
  const values = scores.flatMap((score) => (score.kind === 'given' ? [10 ** (score.value / 10)] : []))
  const cautions = fitted
    ? []
    : ['No response could be fitted: what the stick asked for counts as shaking too.']
  const basis = { method: WASH_METHOD, segments: values.length, cautions }
  if (values.length < LEAST_EVENTS) {
    return refused('There are fewer than two drops with the throttle opened again.', basis)
  }
  const { mean, half } = meanAndHalf(values)
  const level = (power: number) => 10 * Math.log10(Math.max(1e-6, power))
  if (half === null) return given(level(mean), 'dB', { ...basis, cautions: [...cautions, TOO_FEW] })
  return given(level(mean), 'dB', basis, {
    low: level(mean - half),
    high: level(mean + half),
    coverage: 0.95,
    covers: 'sampling error only',
  })
}

/** Gyro less what the setpoint explains of it, as means of `factor` samples. */
function residualOf(
  { gyro, setpoint, rate_hz, breaks, fits }: ThrottleSeries,
  axis: Axis,
  factor: number,
  { doubles }: Scratch,
) {
  const demand = decimated(setpoint[axis], factor, breaks, doubles)
  const answer = decimated(gyro[axis], factor, breaks, doubles)
  const u = demand.samples
  const y = answer.samples
  const fit = fits?.[axis] ?? null
  const explained = fit ? doubles(u.length).fill(NaN) : u
  if (fit) {
    for (const run of runsOf([u], demand.breaks)) {
      simulateSecondOrder(fit.system, u, rate_hz / factor, explained, run.start, run.end)
    }
  }
  for (let n = 0; n < y.length; n++) y[n]! -= explained[n]!
  return { residual: y, breaks: demand.breaks }
}
