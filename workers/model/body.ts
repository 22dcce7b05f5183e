import type { Craft } from './craft.ts'
import { GRAVITY_MPS2 } from './propeller.ts'

/** How fast standing on the ground stills the craft. */
const GROUND_SETTLE_S = 0.03

/**
 * The rigid body: rates by Euler's equations, attitude as a quaternion, velocity and height.
 * World axes: north, east, down. Semi-implicit Euler steps under the
 * mean torque of each step.
 */
export class Body {
  /** Roll, pitch, yaw rate, rad/s. */
  readonly rate_radps = new Float64Array(3)
  /** w, x, y, z: turns body vectors into world vectors. */
  readonly attitude = Float64Array.of(1, 0, 0, 0)
  /** North, east, down, m/s. */
  readonly velocity_mps = new Float64Array(3)
  /** Direction of "down" seen from the craft, and the velocity through the air in body axes. */
  readonly down = Float64Array.of(0, 0, 1)
  readonly air_mps = new Float64Array(3)
  private readonly heightBox = new Float64Array(1)
  private readonly inertia: Float64Array
  private readonly damping: Float64Array
  private readonly mass: number
  private readonly drag: number
  private readonly step_s: number
  /** A craft on the test stand turns freely but goes nowhere. */
  private readonly onStand: boolean

  constructor(craft: Craft, rate_hz: number, onStand: boolean) {
    this.inertia = Float64Array.of(craft.inertia_kgm2.roll, craft.inertia_kgm2.pitch, craft.inertia_kgm2.yaw)
    this.damping = Float64Array.of(craft.damping_Nms.roll, craft.damping_Nms.pitch, craft.damping_Nms.yaw)
    this.mass = craft.mass_kg
    this.drag = craft.drag_Nspm
    this.step_s = 1 / rate_hz
    this.onStand = onStand
  }

  get height_m(): number {
    return this.heightBox[0]!
  }

  /** One step under a mean torque (N m, body axes), a thrust (N, upwards along the body) and a wind (m/s, world). */
  step(torque: Float64Array, thrust_N: number, wind: Float64Array): void {
    const w = this.rate_radps
    const I = this.inertia
    const dt = this.step_s
    const p = w[0]!
    const q = w[1]!
    const r = w[2]!
    w[0] = p + (dt * (torque[0]! - this.damping[0]! * p - (I[2]! - I[1]!) * q * r)) / I[0]!
    w[1] = q + (dt * (torque[1]! - this.damping[1]! * q - (I[0]! - I[2]!) * p * r)) / I[1]!
    w[2] = r + (dt * (torque[2]! - this.damping[2]! * r - (I[1]! - I[0]!) * p * q)) / I[2]!
    if (this.onStand) return
    this.turn(dt)
    this.move(thrust_N, wind, dt)
  }

  private turn(dt: number): void {
    const a = this.attitude
    const w = this.rate_radps
    const x = (w[0]! * dt) / 2
    const y = (w[1]! * dt) / 2
    const z = (w[2]! * dt) / 2
    const a0 = a[0]!
    const a1 = a[1]!
    const a2 = a[2]!
    const a3 = a[3]!
    const b0 = a0 - a1 * x - a2 * y - a3 * z
    const b1 = a1 + a0 * x + a2 * z - a3 * y
    const b2 = a2 + a0 * y + a3 * x - a1 * z
    const b3 = a3 + a0 * z + a1 * y - a2 * x
    const scale = 1 / Math.sqrt(b0 * b0 + b1 * b1 + b2 * b2 + b3 * b3)
    a[0] = b0 * scale
    a[1] = b1 * scale
    a[2] = b2 * scale
    a[3] = b3 * scale
  }

  private move(thrust_N: number, wind: Float64Array, dt: number): void {
    const a = this.attitude
    const v = this.velocity_mps
    const a0 = a[0]!
    const a1 = a[1]!
    const a2 = a[2]!
    const a3 = a[3]!
    // Third column of the rotation matrix: the body's own down in the world.
    const zx = 2 * (a1 * a3 + a0 * a2)
    const zy = 2 * (a2 * a3 - a0 * a1)
    const zz = 1 - 2 * (a1 * a1 + a2 * a2)
    const rx = v[0]! - wind[0]!
    const ry = v[1]! - wind[1]!
    const rz = v[2]! - wind[2]!
    const k = this.drag / this.mass
    const push = thrust_N / this.mass
    v[0] = v[0]! + dt * (-push * zx - k * rx)
    v[1] = v[1]! + dt * (-push * zy - k * ry)
    v[2] = v[2]! + dt * (GRAVITY_MPS2 - push * zz - k * rz)
    this.heightBox[0] = this.heightBox[0]! - dt * v[2]!
    if (this.heightBox[0]! <= 0 && v[2]! >= 0) this.rest(dt)
    this.down[0] = 2 * (a1 * a3 - a0 * a2)
    this.down[1] = 2 * (a2 * a3 + a0 * a1)
    this.down[2] = zz
    this.air_mps[0] =
      (1 - 2 * (a2 * a2 + a3 * a3)) * rx + 2 * (a1 * a2 + a0 * a3) * ry + 2 * (a1 * a3 - a0 * a2) * rz
    this.air_mps[1] =
      2 * (a1 * a2 - a0 * a3) * rx + (1 - 2 * (a1 * a1 + a3 * a3)) * ry + 2 * (a2 * a3 + a0 * a1) * rz
    this.air_mps[2] = zx * rx + zy * ry + zz * rz
  }

  /** Standing on the ground: nothing moves, and the feet level the craft. */
  private rest(dt: number): void {
    this.heightBox[0] = 0
    this.velocity_mps.fill(0)
    const keep = Math.max(0, 1 - dt / GROUND_SETTLE_S)
    for (let axis = 0; axis < 3; axis++) this.rate_radps[axis] = this.rate_radps[axis]! * keep
    this.attitude[1] = this.attitude[1]! * keep
    this.attitude[2] = this.attitude[2]! * keep
  }
}
