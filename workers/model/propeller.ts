/** What a propeller does at a speed, by the similarity laws: thrust ~ n^2 D^4, torque ~ n^2 D^5 (McCormick). */

/** Standard atmosphere at sea level, kg/m^3. */
export const AIR_DENSITY_KGM3 = 1.225
export const GRAVITY_MPS2 = 9.80665

export interface Propeller {
  readonly diameter_m: number
  /** thrust = coefficient * density * n^2 * D^4, n in revolutions a second. */
  readonly thrustCoefficient: number
  /** torque = coefficient * density * n^2 * D^5 */
  readonly torqueCoefficient: number
  readonly blades: number
}

/** Thrust in N per (rev/s)^2. */
export function thrustFactor(propeller: Propeller): number {
  return propeller.thrustCoefficient * AIR_DENSITY_KGM3 * propeller.diameter_m ** 4
}

/** Drag torque in N m per (rev/s)^2. */
export function torqueFactor(propeller: Propeller): number {
  return propeller.torqueCoefficient * AIR_DENSITY_KGM3 * propeller.diameter_m ** 5
}

export function thrust_N(propeller: Propeller, speed_revps: number): number {
  return thrustFactor(propeller) * speed_revps * speed_revps
}

export function torque_Nm(propeller: Propeller, speed_revps: number): number {
  return torqueFactor(propeller) * speed_revps * speed_revps
}

export function discArea_m2(propeller: Propeller): number {
  return (Math.PI / 4) * propeller.diameter_m * propeller.diameter_m
}

/** Speed at which a propeller gives this thrust, rev/s. */
export function speedForThrust_revps(propeller: Propeller, thrust: number): number {
  return Math.sqrt(thrust / thrustFactor(propeller))
}

/** Induced speed of the air through a hovering rotor by momentum theory, m/s. */
export function inducedSpeed_mps(thrustPerRotor_N: number, propeller: Propeller): number {
  return Math.sqrt(thrustPerRotor_N / (2 * AIR_DENSITY_KGM3 * discArea_m2(propeller)))
}

/** Where the lines of one motor stand, in Hz: rotation times 1..harmonics, and the blades' passing. */
export function motorLines_hz(speed_rpm: number, propeller: Propeller, harmonics: number) {
  const rotation = speed_rpm / 60
  return {
    rotation,
    harmonics: Array.from({ length: harmonics }, (_, index) => rotation * (index + 1)),
    bladePass: rotation * propeller.blades,
  }
}

/** Electrical revolutions a minute of a motor with this many pole pairs. */
export function electrical_rpm(speed_rpm: number, polePairs: number): number {
  return speed_rpm * polePairs
}
