import { alignFlights } from '../align/align.ts'
import { AXES, type Axis } from '../flight/axes.ts'
import type { ChannelName, FlightSignals } from '../flight/signals.ts'
import { commonSegments } from '../signal/noise-map.ts'
import { alignable } from './alignable.ts'
import { demandOf } from './demand.ts'
import { flightEvents } from './flight-events.ts'
import { measureFlight } from './flight-measures.ts'
import { axisFrequency } from './frequency.ts'
import { rotorOverlay } from './rotors.ts'
import { signalLane } from './spectra.ts'

/** Long enough for every estimate to be made, and for an engine to see which loops are worth its while. */
const LENGTH_S = 24
const RATE_HZ = 2000
const COLUMNS = 300

type Part = (flight: FlightSignals) => unknown

/** An analysis keeps what it knows of a span: every part takes another end. */
const spans = Array.from({ length: 8 }, (_, k) => LENGTH_S - 0.5 * k)

const ofAxis = (axis: Axis, end_s: number): Part[] => [
  (flight) => axisFrequency(flight, axis, 0, end_s, commonSegments(RATE_HZ, RATE_HZ).a),
  (flight) => demandOf(flight, 0, end_s, axis),
  (flight) => signalLane(flight, 'gyro', axis, 0, end_s, COLUMNS),
]

const whole = (end_s: number): Part[] => [
  ...AXES.flatMap((axis) => ofAxis(axis, end_s)),
  (flight) => flightEvents(flight, 0, end_s),
  (flight) => rotorOverlay(flight, 0, end_s, { blades: null, polePairs: null }),
]

/** First what a pair's first picture waits for, often, then the rest, twice. */
const PARTS: readonly Part[] = [
  (flight) => alignFlights({ a: alignable(flight), b: alignable(flight) }),
  ...spans.map(
    (end_s): Part =>
      (flight) =>
        measureFlight(flight, 0, end_s),
  ),
  ...whole(spans[0]!),
  ...whole(spans[1]!),
]

/** Parts of a rehearsal, each of some ten milliseconds once it has been done. */
export const REHEARSAL_PARTS = PARTS.length

let flight: FlightSignals | null = null

/**
 * Does one part (0 .. REHEARSAL_PARTS - 1) of the analysis of an invented flight and forgets what came of it: JavaScript
 * engines make fast code only of what they have seen at work, so the first real flight would take much longer (`npm run bench -- signal` shows both). The flight is
 * kept until the last part.
 */
export function rehearse(part: number): void {
  const act = PARTS[part]
  if (!act) throw new Error(`a rehearsal has ${REHEARSAL_PARTS} parts: ${part}`)
  act((flight ??= inventedFlight()))
  if (part === REHEARSAL_PARTS - 1) flight = null
}

/** A setpoint in steps, a second-order answer with noise and a line that follows the throttle, motors with their speeds. */
function inventedFlight(): FlightSignals {
  const count = LENGTH_S * RATE_HZ
  let state = 1
  const random = () => (state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32 - 0.5
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  const throttle = Float32Array.from(
    { length: count },
    (_, n) => 0.45 + 0.3 * Math.sin(n / 3000) * Math.sin(n / 700),
  )
  channels.throttle = throttle
  const turn_hz = throttle.map((share) => 120 + 200 * share)
  for (const axis of AXES) {
    const setpoint = new Float32Array(count)
    const unfiltered = new Float32Array(count)
    const gyro = new Float32Array(count)
    let [demand, smooth, rate, change, turn] = [0, 0, 0, 0, 0]
    for (let n = 0; n < count; n++) {
      if (random() > 0.4985) demand = 800 * random()
      smooth += 0.03 * (demand - smooth)
      change += (3600 * (smooth - rate) - 60 * change) / RATE_HZ
      rate += change / RATE_HZ
      turn += (2 * Math.PI * turn_hz[n]!) / RATE_HZ
      setpoint[n] = smooth
      unfiltered[n] = rate + 20 * random() + 8 * Math.sin(turn)
      gyro[n] = 0.4 * unfiltered[n]! + 0.6 * (gyro[n - 1] ?? 0)
    }
    channels[`setpoint.${axis}`] = setpoint
    channels[`unfiltered.${axis}`] = unfiltered
    channels[`gyro.${axis}`] = gyro
  }
  for (const motor of [1, 2, 3, 4] as const) {
    channels[`motor.${motor}`] = throttle.map((share) => Math.min(1, Math.max(0, share + 0.1 * random())))
    channels[`speed.${motor}`] = turn_hz.map((hz) => 60 * 7 * hz)
  }
  return {
    t_s: Float64Array.from({ length: count }, (_, n) => n / RATE_HZ),
    rate_hz: RATE_HZ,
    channels,
    electricalSpeeds: true,
  }
}
