import { fullThrust_N, fullTorque_Nm, speedShare, type Craft, type Motor } from './craft.ts'

/** Four motors with their propellers: transport delay, first-order lag, thrust and drag torque. */
export class Motors {
  /**
   * One per motor: thrust in N and drag torque in N m at the end of the step, the rotor's reaction over the step
   * in N m, speed in rev/s.
   */
  readonly thrust_N = new Float64Array(4)
  readonly torque_Nm = new Float64Array(4)
  readonly reaction_Nm = new Float64Array(4)
  readonly speed_revps = new Float64Array(4)
  private readonly motor: Motor
  private readonly linear: boolean
  private readonly up: number
  private readonly down: number
  private readonly fullThrust: number
  private readonly fullTorque: number
  private readonly reactionFactor: number
  /** Speed share, or thrust share of an idealised motor. */
  private readonly level = new Float64Array(4)
  private readonly ring: Float64Array
  private at = 0

  constructor(craft: Craft, rate_hz: number, command: number) {
    this.motor = craft.motor
    this.linear = craft.motor.thrustLaw === 'linear'
    this.up = 1 - Math.exp(-1 / (rate_hz * craft.motor.lagUp_s))
    this.down = 1 - Math.exp(-1 / (rate_hz * craft.motor.lagDown_s))
    this.fullThrust = fullThrust_N(craft)
    this.fullTorque = fullTorque_Nm(craft)
    this.reactionFactor = 2 * Math.PI * craft.motor.rotorInertia_kgm2 * craft.motor.fullSpeed_revps * rate_hz
    this.ring = new Float64Array(4 * delaySteps(craft, rate_hz)).fill(command)
    const start = this.linear ? command : speedShare(craft.motor, command, 1)
    this.level.fill(start)
    this.settle()
  }

  /** One step of integration under four commands (shares); `voltage` as a share of the nominal one. */
  step(commands: Float64Array, voltage: number): void {
    const { ring, level, motor } = this
    for (let index = 0; index < 4; index++) {
      let command = commands[index]!
      if (ring.length > 0) {
        const heard = ring[this.at + index]!
        ring[this.at + index] = command
        command = heard
      }
      const before = level[index]!
      if (this.linear) {
        const after = before + (command - before) * (command > before ? this.up : this.down)
        level[index] = after
        this.torque_Nm[index] = this.fullTorque * after
        this.thrust_N[index] = this.fullThrust * after
        this.speed_revps[index] = motor.fullSpeed_revps * Math.sqrt(after)
      } else {
        const target = speedShare(motor, command, voltage)
        const after = before + (target - before) * (target > before ? this.up : this.down)
        level[index] = after
        this.torque_Nm[index] = this.fullTorque * after * after
        this.reaction_Nm[index] = this.reactionFactor * (after - before)
        this.thrust_N[index] = this.fullThrust * after * after
        this.speed_revps[index] = motor.fullSpeed_revps * after
      }
    }
    if (ring.length > 0) this.at = (this.at + 4) % ring.length
  }

  private settle(): void {
    for (let index = 0; index < 4; index++) {
      const level = this.level[index]!
      const load = this.linear ? level : level * level
      this.thrust_N[index] = this.fullThrust * load
      this.torque_Nm[index] = this.fullTorque * load
      this.speed_revps[index] = this.motor.fullSpeed_revps * Math.sqrt(load)
    }
  }
}

/** The transport delay in whole steps of integration. */
export function delaySteps(craft: Craft, rate_hz: number): number {
  return Math.round(craft.transportDelay_s * rate_hz)
}
