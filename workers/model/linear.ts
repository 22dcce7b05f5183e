import type { Axis } from '../flight/axes.ts'
import { DEG_PER_RAD } from '../units/units.ts'
import { AxisController } from './controller.ts'
import { fullThrust_N, fullTorque_Nm, hoverCommand, speedShare, type Craft } from './craft.ts'
import { delaySteps } from './motors.ts'
import type { Tune } from './tune.ts'

/** Where the craft is linearised: the command that all four motors share and the battery's share of nominal. */
export interface OperatingPoint {
  readonly command: number
  readonly voltage: number
}

/**
 * One axis as a linear plant from demand (share) to rate (deg/s):
 * gain * (lead s + 1) e^(-delay s) / ((lag s + 1)(s + damping)).
 */
export interface LinearPlant {
  /** deg/s^2 per share of demand. */
  readonly gain: number
  /** From the rotors' reaction; 0 on roll and pitch. */
  readonly lead_s: number
  /** First-order lag of the motors: the harmonic mean of up and down, as one speeds up while its twin slows down. */
  readonly lag_s: number
  /** Aerodynamic damping over inertia, 1/s. */
  readonly damping_ps: number
  readonly delay_s: number
}

/** The operating point of a level hover at nominal voltage. */
export function hoverPoint(craft: Craft): OperatingPoint {
  return { command: hoverCommand(craft), voltage: 1 }
}

/** Linearises a craft; `rate_hz` is the rate of integration, to whose steps the delay is rounded. */
export function linearPlant(craft: Craft, axis: Axis, point: OperatingPoint, rate_hz: number): LinearPlant {
  const { motor } = craft
  const lag_s = 2 / (1 / motor.lagUp_s + 1 / motor.lagDown_s)
  const inertia = craft.inertia_kgm2[axis]
  const full = axis === 'yaw' ? fullTorque_Nm(craft) : fullThrust_N(craft)
  const arm = axis === 'roll' ? craft.armSide_m : axis === 'pitch' ? craft.armForward_m : 1
  let slope = full
  let lead_s = 0
  if (motor.thrustLaw === 'propeller') {
    const speed = speedShare(motor, point.command, point.voltage)
    const speedSlope = point.voltage / (1 - motor.droop + 2 * motor.droop * speed)
    slope = full * 2 * speed * speedSlope
    if (axis === 'yaw')
      lead_s = (2 * Math.PI * motor.rotorInertia_kgm2 * motor.fullSpeed_revps) / (full * 2 * speed)
  }
  return {
    gain: ((4 * arm * slope) / inertia) * DEG_PER_RAD,
    lead_s,
    lag_s,
    damping_ps: craft.damping_Nms[axis] / inertia,
    delay_s: delaySteps(craft, rate_hz) / rate_hz,
  }
}

/** A response sampled at `rate_hz`, in the setpoint's unit. */
export interface StepResponse {
  readonly rate_hz: number
  /** The filtered gyro, as a log has it, and the true rate. */
  readonly gyro: Float64Array
  readonly rate: Float64Array
}

/**
 * The linear closed loop's answer to a setpoint (one value per step of integration), without noise or limits: the
 * same controller around the linear plant, integrated at `rate_hz` with exact steps of the lag. From rest.
 */
export function linearResponse(
  tune: Tune,
  axis: Axis,
  plant: LinearPlant,
  rate_hz: number,
  setpoint: ArrayLike<number>,
): StepResponse {
  const steps = setpoint.length
  const divider = rate_hz / tune.controlRate_hz
  const unlimited = { ...tune.axes[axis], windupLimit: Infinity }
  const controller = new AxisController(unlimited, tune)
  const follow = 1 - Math.exp(-1 / (rate_hz * plant.lag_s))
  const delay = Math.round(plant.delay_s * rate_hz)
  const ring = new Float64Array(delay + 1)
  const gyro = new Float64Array(steps)
  const rate = new Float64Array(steps)
  let demand = 0
  let lagged = 0
  let turning = 0
  for (let step = 0; step < steps; step++) {
    if (step % divider === 0) demand = controller.step(setpoint[step]!, turning, true)
    gyro[step] = controller.gyro_dps
    rate[step] = turning
    ring[step % (delay + 1)] = demand
    const heard = step < delay ? 0 : ring[(step - delay) % (delay + 1)]!
    const change = (heard - lagged) * follow
    lagged += change
    // Mean of the lagged demand over the step; the lead's part is a difference already.
    const push = plant.gain * (lagged - change / 2 + plant.lead_s * change * rate_hz)
    turning += (push - plant.damping_ps * turning) / rate_hz
  }
  return { rate_hz, gyro, rate }
}

/** The linear closed loop's answer to a unit step of the setpoint at time 0. */
export function linearStep(
  tune: Tune,
  axis: Axis,
  plant: LinearPlant,
  rate_hz: number,
  duration_s: number,
): StepResponse {
  return linearResponse(
    tune,
    axis,
    plant,
    rate_hz,
    new Float64Array(Math.round(duration_s * rate_hz)).fill(1),
  )
}
