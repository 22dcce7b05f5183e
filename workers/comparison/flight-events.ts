import { AXES, perAxis, type Axis, type PerAxis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { headroom, type Headroom } from '../response/headroom.ts'
import { stepResponse, type StepResponse } from '../response/step-response.ts'
import { DRIFT_METHOD, throttleEvents } from '../response/throttle-events.ts'
import { WASH_METHOD } from '../response/prop-wash.ts'
import { refused, type Refused, type Result } from '../signal/result.ts'
import { flightPart } from './flight-part.ts'

/** What throttle movements did to a flight, and what the motors had left. */
export interface FlightEvents {
  /** Root mean square turn away from the setpoint over punches and chops, deg. */
  readonly drift: PerAxis<Result<number>>
  /** Shaking after caught drops over quiet flight, dB. */
  readonly wash: PerAxis<Result<number>>
  readonly punches: number
  readonly chops: number
  readonly drops: number
  readonly headroom: Headroom
}

/**
 * Throttle-step drift, prop wash and headroom over t0_s..t1_s of the flight's own clock (our own definitions, see
 * throttle-steps.ts and prop-wash.ts; headroom.ts). What can't be given says why.
 * @param known the axes' step responses over the same span, where they are at hand
 */
export function flightEvents(
  signals: FlightSignals,
  t0_s: number,
  t1_s: number,
  known: PerAxis<StepResponse | Refused> | null = null,
): FlightEvents {
  const part = flightPart(signals, t0_s, t1_s)
  const { from, to, limits } = part
  const room = headroom(limits, 0, to - from)
  const throttle = part.samples('throttle')
  const without = missing(signals, throttle)
  if (without !== null || !throttle || to - from < 2 || !(signals.rate_hz > 0)) {
    const why = without ?? 'The flight has no samples in this span.'
    return {
      drift: perAxis(() => refused(why, { method: DRIFT_METHOD })),
      wash: perAxis(() => refused(why, { method: WASH_METHOD })),
      punches: 0,
      chops: 0,
      drops: 0,
      headroom: room,
    }
  }
  const { breaks } = part
  const { rate_hz } = signals
  const of = (kind: 'gyro' | 'setpoint') => perAxis((axis: Axis) => part.samples(`${kind}.${axis}`)!)
  const gyro = of('gyro')
  const setpoint = of('setpoint')
  const fits = perAxis((axis) => {
    const found =
      known?.[axis] ?? stepResponse({ ...part.series(axis), ...(limits ? { limited: limits.atTop } : {}) })
    return found.kind === 'given' ? found.fit : null
  })
  const events = throttleEvents({ throttle, gyro, setpoint, rate_hz, breaks, fits })
  return {
    drift: events.drift,
    wash: events.wash,
    punches: events.drifts.filter(({ step }) => step.kind === 'punch').length,
    chops: events.drifts.filter(({ step }) => step.kind === 'chop').length,
    drops: events.washEvents.length,
    headroom: room,
  }
}

function missing(signals: FlightSignals, throttle: Float32Array | undefined): string | null {
  if (!throttle) return 'The log holds no throttle.'
  for (const kind of ['gyro', 'setpoint'] as const) {
    const axis = AXES.find((one) => !signals.channels[`${kind}.${one}`])
    if (axis) return `The log holds no ${kind} for ${axis}.`
  }
  return null
}
