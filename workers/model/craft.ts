import type { PerAxis } from '../flight/axes.ts'
import {
  AIR_DENSITY_KGM3,
  discArea_m2,
  GRAVITY_MPS2,
  thrustFactor,
  torqueFactor,
  type Propeller,
} from './propeller.ts'

/**
 * An airframe in physical units. Body axes: x forward, y right, z down; so roll is positive right side down,
 * pitch nose up, yaw nose right. Motors: 1 front right, 2 rear right, 3 rear left, 4 front left.
 */
export interface Craft {
  readonly name: string
  readonly mass_kg: number
  readonly inertia_kgm2: PerAxis<number>
  /** Distance of the motors ahead of and behind the centre, and to either side of it. */
  readonly armForward_m: number
  readonly armSide_m: number
  readonly propeller: Propeller
  readonly motor: Motor
  readonly battery: Battery
  /** Aerodynamic damping of each axis, N m per rad/s. */
  readonly damping_Nms: PerAxis<number>
  /** Drag of the craft through the air, N per m/s. */
  readonly drag_Nspm: number
  /** Time from the controller's command to the motors' hearing it. */
  readonly transportDelay_s: number
  readonly vibration: Vibration
}

export interface Motor {
  /** Speed at full command under load with the battery at its nominal voltage. */
  readonly fullSpeed_revps: number
  /** Share of the voltage that the windings' resistance takes at full command, 0..0.9: bends speed over command. */
  readonly droop: number
  /** Time constants of the first-order lag, speeding up and slowing down. */
  readonly lagUp_s: number
  readonly lagDown_s: number
  /** Propeller and bell about their axle: gives the yaw kick when a motor changes speed. */
  readonly rotorInertia_kgm2: number
  /**
   * 'propeller': command sets the speed, thrust goes with its square, and the voltage matters.
   * 'linear': an idealised motor whose thrust itself follows the command, for checking an analysis that
   * assumes a linear craft. The rotor's inertia has no part in it.
   */
  readonly thrustLaw: 'propeller' | 'linear'
}

export interface Battery {
  readonly cells: number
  readonly capacity_Ah: number
  readonly resistance_ohm: number
  /** Voltage of a cell full, empty and nominal (at which `fullSpeed_revps` holds). */
  readonly full_V: number
  readonly empty_V: number
  readonly nominal_V: number
}

export interface Vibration {
  /** What the gyro sees of each motor's imbalance at full speed, deg/s; grows with the square of speed. */
  readonly imbalance_dps: readonly [number, number, number, number]
  /** Amplitude of the 2nd harmonic and of the blades' passing relative to the rotation line. */
  readonly secondHarmonic: number
  readonly bladePass: number
  /** One resonance of the frame: centre, quality and gain on what shakes it. */
  readonly resonance_hz: number
  readonly resonanceQuality: number
  readonly resonanceGain: number
  /** Broadband noise of the gyro, deg/s per square root of Hz. */
  readonly gyroNoise_dpsrtHz: number
}

/** +1 for the side on which a motor's thrust turns the craft the positive way. */
export const ROLL_SIDE = [-1, -1, 1, 1] as const
export const PITCH_SIDE = [1, -1, -1, 1] as const
/** +1 for motors whose drag turns the nose right, that is, which spin left seen from above. */
export const YAW_SIDE = [1, -1, 1, -1] as const

/** Pairs of magnets of the model's motors: how often their current goes round in one turn of the rotor. */
export const POLE_PAIRS = 7

/** An invented 5-inch freestyle craft; round figures, of the size that such craft have (common practice, no source). */
export const LANTERN: Craft = {
  name: 'Marsh Lantern',
  mass_kg: 0.7,
  inertia_kgm2: { roll: 0.0032, pitch: 0.0041, yaw: 0.0062 },
  armForward_m: 0.08,
  armSide_m: 0.08,
  propeller: { diameter_m: 0.127, thrustCoefficient: 0.15, torqueCoefficient: 0.012, blades: 3 },
  motor: {
    fullSpeed_revps: 430,
    droop: 0.35,
    lagUp_s: 0.016,
    lagDown_s: 0.024,
    rotorInertia_kgm2: 5e-6,
    thrustLaw: 'propeller',
  },
  battery: { cells: 4, capacity_Ah: 1.5, resistance_ohm: 0.02, full_V: 4.2, empty_V: 3.4, nominal_V: 3.8 },
  damping_Nms: { roll: 0.002, pitch: 0.002, yaw: 0.001 },
  drag_Nspm: 0.25,
  transportDelay_s: 0.001,
  vibration: {
    imbalance_dps: [14, 9, 17, 12],
    secondHarmonic: 0.35,
    bladePass: 0.5,
    resonance_hz: 225,
    resonanceQuality: 9,
    resonanceGain: 2,
    gyroNoise_dpsrtHz: 0.012,
  },
}

/** Speed that a command settles at, as a share of full speed; `voltage` as a share of the nominal one. */
export function speedShare(motor: Motor, command: number, voltage: number): number {
  if (motor.droop < 1e-9) return command * voltage
  const free = 1 - motor.droop
  return (Math.sqrt(free * free + 4 * motor.droop * command * voltage) - free) / (2 * motor.droop)
}

/** The command that holds a speed: the inverse of `speedShare`. */
export function commandForSpeed(motor: Motor, share: number, voltage: number): number {
  return ((1 - motor.droop) * share + motor.droop * share * share) / voltage
}

/** The command at which the craft hovers level, 0..1 (above 1: it is too heavy to fly). */
export function hoverCommand(craft: Craft, voltage = 1): number {
  const full_N = fullThrust_N(craft)
  const share = (craft.mass_kg * GRAVITY_MPS2) / 4 / full_N
  if (craft.motor.thrustLaw === 'linear') return share
  return commandForSpeed(craft.motor, Math.sqrt(share), voltage)
}

/** Thrust of one motor at full command and nominal voltage, N. */
export function fullThrust_N(craft: Craft): number {
  return thrustFactor(craft.propeller) * craft.motor.fullSpeed_revps ** 2
}

/** Drag torque of one motor at full command and nominal voltage, N m. */
export function fullTorque_Nm(craft: Craft): number {
  return torqueFactor(craft.propeller) * craft.motor.fullSpeed_revps ** 2
}

/** Speed of the air through the hovering rotors, m/s. */
export function hoverInducedSpeed_mps(craft: Craft): number {
  const area_m2 = 4 * discArea_m2(craft.propeller)
  return Math.sqrt((craft.mass_kg * GRAVITY_MPS2) / (2 * AIR_DENSITY_KGM3 * area_m2))
}
