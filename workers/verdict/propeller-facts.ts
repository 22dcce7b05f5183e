import { propellerSimilarity } from '../response/headroom.ts'

/** What is asked of the calculator. */
export interface PropellerQuestion {
  readonly from_in: number
  readonly to_in: number
  /** Speed of the old propeller, rpm. */
  readonly speed_rpm: number
  readonly blades: number
  readonly polePairs: number
}

export interface PropellerFacts {
  /** New over old, same shape. */
  readonly discArea: number
  readonly thrustAtSameSpeed: number
  readonly torqueAtSameSpeed: number
  readonly speedForSameThrust: number
  readonly sameThrust_rpm: number
  /** Of the speed given. */
  readonly rotation_hz: number
  readonly bladePass_hz: number
  readonly electrical_rpm: number
}

/**
 * Propeller and motor facts by similarity at the same shape: area D^2, thrust n^2 D^4, torque n^2 D^5; rotation n/60,
 * blade pass blades n/60, electrical speed pole pairs n. Throws for sizes or counts that are not positive.
 */
export function propellerFacts(question: PropellerQuestion): PropellerFacts {
  for (const [name, value] of Object.entries(question))
    if (!(value > 0)) throw new Error(`${name} must be positive: ${value}`)
  const { from_in, to_in, speed_rpm, blades, polePairs } = question
  const { discArea, thrust, torque, speedForSameThrust } = propellerSimilarity(to_in / from_in)
  return {
    discArea,
    thrustAtSameSpeed: thrust,
    torqueAtSameSpeed: torque,
    speedForSameThrust,
    sameThrust_rpm: speed_rpm * speedForSameThrust,
    rotation_hz: speed_rpm / 60,
    bladePass_hz: (blades * speed_rpm) / 60,
    electrical_rpm: polePairs * speed_rpm,
  }
}
