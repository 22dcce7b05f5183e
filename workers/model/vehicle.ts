import { AXES } from '../flight/axes.ts'
import { DEG_PER_RAD } from '../units/units.ts'
import { BatteryState } from './battery.ts'
import { Body } from './body.ts'
import { AxisController } from './controller.ts'
import { YAW_SIDE, ROLL_SIDE, PITCH_SIDE, type Craft } from './craft.ts'
import type { Disturbance } from './disturbance.ts'
import { GYRO_FULL_SCALE_DPS, type GyroNoise } from './gyro.ts'
import { mix } from './mixer.ts'
import { Motors } from './motors.ts'
import type { Tune } from './tune.ts'

/** Throttle above which the controller takes the craft to be flying. */
const TAKE_OFF_THROTTLE = 0.1
/** Air and wash act on the craft from this height on. */
const OFF_GROUND_M = 0.3
/** Share of the thrust that the wake takes at full intensity: our own figure (common practice, no source). */
const WASH_THRUST_LOSS = 0.15
/** The battery is looked after this often, in steps. */
const BATTERY_EVERY = 8

export interface VehicleOptions {
  readonly rate_hz: number
  readonly onStand?: boolean
  /** Share of the battery's capacity drawn before the start. */
  readonly batteryUsed?: number
  /** Throttle at which motors start; 0 on the ground. */
  readonly startThrottle?: number
  readonly disturbance?: Disturbance | null
  readonly gyroNoise?: GyroNoise | null
}

/**
 * The craft with its controller, one step of integration at a time. The caller sets `setpoint_dps` and
 * `throttle`, then calls `step`; everything else is read from the fields.
 */
export class Vehicle {
  readonly setpoint_dps = new Float64Array(3)
  throttle: number
  readonly commands: Float64Array
  /** Gyro before the filters, deg/s. */
  readonly gyroRaw_dps = new Float64Array(3)
  readonly controllers: AxisController[]
  readonly motors: Motors
  readonly body: Body
  readonly battery: BatteryState
  /** True while the demand of the latest control step did not fit into the motors' range. */
  saturated = false
  /** True for the one step in which the controller ran. */
  controlled = false
  tick = 0
  private readonly rate_hz: number
  private readonly divider: number
  private readonly idle: number
  private readonly top: number
  private readonly armForward: number
  private readonly armSide: number
  private readonly demand = new Float64Array(3)
  private readonly torque = new Float64Array(3)
  private readonly torqueEnd = new Float64Array(3)
  private readonly stillAir = new Float64Array(3)
  private readonly disturbance: Disturbance | null
  private readonly gyroNoise: GyroNoise | null
  private readonly onStand: boolean
  private flying = false

  constructor(craft: Craft, tune: Tune, options: VehicleOptions) {
    const rate_hz = options.rate_hz
    this.rate_hz = rate_hz
    this.divider = rate_hz / tune.controlRate_hz
    if (!Number.isInteger(this.divider))
      throw new Error(`integration rate must be a multiple of the control rate: ${rate_hz}`)
    this.onStand = options.onStand ?? false
    this.throttle = options.startThrottle ?? 0
    this.idle = tune.idle
    this.top = tune.top
    this.armForward = craft.armForward_m
    this.armSide = craft.armSide_m
    const start = tune.idle + this.throttle * (tune.top - tune.idle)
    this.commands = new Float64Array(4).fill(start)
    this.controllers = AXES.map((axis) => new AxisController(tune.axes[axis], tune))
    this.motors = new Motors(craft, rate_hz, start)
    this.body = new Body(craft, rate_hz, this.onStand)
    this.battery = new BatteryState(craft.battery, rate_hz, options.batteryUsed ?? 0)
    this.disturbance = options.disturbance ?? null
    this.gyroNoise = options.gyroNoise ?? null
    this.flying = this.onStand
  }

  get t_s(): number {
    return this.tick / this.rate_hz
  }

  step(): void {
    this.controlled = this.tick % this.divider === 0
    if (this.controlled) this.control()
    const { motors, body, torque } = this
    motors.step(this.commands, this.onStand ? 1 : this.battery.share)
    let thrust = 0
    let roll = 0
    let pitch = 0
    let yaw = 0
    let reaction = 0
    for (let motor = 0; motor < 4; motor++) {
      const one = motors.thrust_N[motor]!
      thrust += one
      roll += ROLL_SIDE[motor]! * one
      pitch += PITCH_SIDE[motor]! * one
      yaw += YAW_SIDE[motor]! * motors.torque_Nm[motor]!
      reaction += YAW_SIDE[motor]! * motors.reaction_Nm[motor]!
    }
    // The mean over the step: trapezoidal for what stands at its ends, the rotors' reaction as it is.
    const ends = this.torqueEnd
    const rollEnd = roll * this.armSide
    const pitchEnd = pitch * this.armForward
    const yawEnd = yaw
    roll = (rollEnd + ends[0]!) / 2
    pitch = (pitchEnd + ends[1]!) / 2
    yaw = (yawEnd + ends[2]!) / 2 + reaction
    ends[0] = rollEnd
    ends[1] = pitchEnd
    ends[2] = yawEnd
    let wind = this.stillAir
    const disturbance = this.disturbance
    if (disturbance !== null) {
      disturbance.step(this.t_s, body.air_mps, thrust, body.height_m > OFF_GROUND_M)
      roll += disturbance.torque_Nm[0]!
      pitch += disturbance.torque_Nm[1]!
      yaw += disturbance.torque_Nm[2]!
      wind = disturbance.wind_mps
      thrust *= 1 - WASH_THRUST_LOSS * Math.min(1, disturbance.washIntensity)
    }
    torque[0] = roll
    torque[1] = pitch
    torque[2] = yaw
    body.step(torque, thrust, wind)
    if (!this.onStand && this.tick % BATTERY_EVERY === 0) this.drain()
    this.tick++
  }

  private control(): void {
    const noise = this.gyroNoise
    if (noise !== null) noise.step(this.motors.speed_revps)
    if (this.throttle > TAKE_OFF_THROTTLE) this.flying = true
    for (let axis = 0; axis < 3; axis++) {
      let gyro = this.body.rate_radps[axis]! * DEG_PER_RAD
      if (noise !== null) gyro += noise.noise_dps[axis]!
      if (gyro > GYRO_FULL_SCALE_DPS) gyro = GYRO_FULL_SCALE_DPS
      if (gyro < -GYRO_FULL_SCALE_DPS) gyro = -GYRO_FULL_SCALE_DPS
      this.gyroRaw_dps[axis] = gyro
      const gather = this.flying && !this.saturated
      this.demand[axis] = this.controllers[axis]!.step(this.setpoint_dps[axis]!, gyro, gather)
    }
    // A craft waiting on the ground keeps its motors at idle.
    if (!this.flying) this.demand.fill(0)
    this.saturated = mix(this.throttle, this.demand, this.idle, this.top, this.commands) < 1
  }

  private drain(): void {
    let power = 0
    for (let motor = 0; motor < 4; motor++)
      power += 2 * Math.PI * this.motors.speed_revps[motor]! * Math.max(0, this.motors.torque_Nm[motor]!)
    this.battery.draw(power, BATTERY_EVERY)
  }
}
