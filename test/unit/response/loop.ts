import type { Axis } from '../../../workers/flight/axes.ts'
import { AXES } from '../../../workers/flight/axes.ts'
import { LANTERN } from '../../../workers/model/craft.ts'
import { simulateFlight, type FlightRecord } from '../../../workers/model/flight.ts'
import { hoverPoint, linearPlant, linearStep } from '../../../workers/model/linear.ts'
import { testFlight } from '../../../workers/model/orders.ts'
import { LANTERN_TUNE } from '../../../workers/model/tune.ts'
import { nextPowerOfTwo, realFft } from '../../../workers/signal/fft.ts'
import { normalInput } from '../signal/series.ts'

/** Rate of the simulated logs and of the simulation. */
export const LOG_HZ = 1000
const FINE = 8

/** A flown test flight of the simulator: its sticks are what the loops below are asked to follow. */
export function flownFlight(seed = 1): FlightRecord {
  return simulateFlight({
    craft: LANTERN,
    tune: LANTERN_TUNE,
    pilot: { skill: 0.8, roughness: 0.2 },
    orders: testFlight(),
    weather: { wind_mps: 1.5, turbulence_mps: 0.4 },
    trouble: { wash: 1, knocks_pmin: 2, knock_dps: 90 },
    link: { rate_hz: 150, jitter: 0.1, loss: 0.002 },
    batteryUsed: 0.03,
    noise: 1,
    rate_hz: LOG_HZ * FINE,
    logRate_hz: LOG_HZ,
    seed,
    longest_s: 100,
  })
}

/** A linear loop of known truth answering a flown setpoint. */
export interface KnownLoop {
  readonly axis: Axis
  readonly setpoint: Float64Array
  /** The loop's answer without any noise. */
  readonly gyro: Float64Array
  /** True unit step response, every 1/(LOG_HZ FINE) s from the step on. */
  readonly step: Float64Array
  readonly stepRate_hz: number
}

/**
 * The simulator's rate loop, linearised at hover, follows the flight's setpoint (straight between logged samples) at
 * eight times the log's rate: a convolution with the derivative of the true step response.
 */
export function knownLoop(flight: FlightRecord, axis: Axis): KnownLoop {
  const rate_hz = LOG_HZ * FINE
  const plant = linearPlant(LANTERN, axis, hoverPoint(LANTERN), rate_hz)
  const step = linearStep(LANTERN_TUNE, axis, plant, rate_hz, 2).gyro
  const setpoint = Float64Array.from(flight.setpoint_dps[AXES.indexOf(axis)]!)
  const count = setpoint.length * FINE
  const plan = realFft(nextPowerOfTwo(count + step.length))
  const input = new Float64Array(plan.size)
  const impulse = new Float64Array(plan.size)
  for (let n = 0; n < count; n++) {
    const at = Math.floor(n / FINE)
    const share = (n % FINE) / FINE
    input[n] = (1 - share) * setpoint[at]! + share * (setpoint[at + 1] ?? setpoint[at]!)
  }
  for (let n = 0; n < step.length; n++) impulse[n] = step[n]! - (step[n - 1] ?? 0)
  const inRe = new Float64Array(plan.bins)
  const inIm = new Float64Array(plan.bins)
  const outRe = new Float64Array(plan.bins)
  const outIm = new Float64Array(plan.bins)
  plan.forward(input, inRe, inIm)
  plan.forward(impulse, outRe, outIm)
  for (let k = 0; k < plan.bins; k++) {
    const re = inRe[k]! * outRe[k]! - inIm[k]! * outIm[k]!
    outIm[k] = inRe[k]! * outIm[k]! + inIm[k]! * outRe[k]!
    outRe[k] = re
  }
  plan.inverse(outRe, outIm, input)
  const gyro = setpoint.map((_, n) => input[n * FINE]!)
  return { axis, setpoint, gyro, step, stepRate_hz: rate_hz }
}

/** Wind-like and wash-like noise of about this size, deg/s RMS. */
export function disturbed(gyro: Float64Array, rms_dps: number, seed: number): Float64Array {
  const slow = normalInput(seed, gyro.length)
  const fast = normalInput(seed + 7919, gyro.length)
  let wind = 0
  let wash = 0
  let squares = 0
  const noise = gyro.map((_, n) => {
    wind = 0.97 * wind + slow[n]!
    wash = 0.7 * wash + fast[n]!
    const value = 0.2 * wind + 0.3 * wash
    squares += value * value
    return value
  })
  const scale = rms_dps / Math.sqrt(squares / gyro.length)
  return gyro.map((value, n) => value + scale * noise[n]!)
}
