import type { Craft } from './craft.ts'
import { bandPass, Filter } from './filters.ts'
import { Random, seedFor } from './random.ts'

/** Full scale of the gyro, deg/s: what lies beyond is clipped. */
export const GYRO_FULL_SCALE_DPS = 2000

/** How strongly each axis feels the motors' shaking. */
const AXIS_WEIGHT = [1, 0.85, 0.35] as const

/** What the gyro adds to the true rates: motor lines with harmonics, one frame resonance, broadband noise. */
export class GyroNoise {
  /** Noise of the latest sample per axis, deg/s. */
  readonly noise_dps = new Float64Array(3)
  private readonly random: Random
  private readonly white: number
  private readonly turn: number
  private readonly fullSpeed: number
  private readonly amplitude: Float64Array
  private readonly second: number
  private readonly blade: number
  private readonly blades: number
  private readonly shake: number
  private readonly resonanceGain: number
  private readonly resonance: Filter[]
  private readonly phase = new Float64Array(4)

  /** `level`: 1 as the craft is, 0 none. `rate_hz` is the rate at which `step` is called. */
  constructor(craft: Craft, rate_hz: number, level: number, seed: number) {
    const { vibration, motor, propeller } = craft
    this.random = new Random(seedFor(seed, 'gyro'))
    this.white = level * vibration.gyroNoise_dpsrtHz * Math.sqrt(rate_hz / 2)
    this.turn = (2 * Math.PI) / rate_hz
    this.fullSpeed = motor.fullSpeed_revps
    this.amplitude = Float64Array.from(vibration.imbalance_dps, (one) => one * level)
    this.second = vibration.secondHarmonic
    this.blade = vibration.bladePass
    this.blades = propeller.blades
    // The propellers' turbulent flow shakes the frame broadly, too: it lights up the resonance.
    this.shake = level * vibration.gyroNoise_dpsrtHz * 4 * Math.sqrt(rate_hz / 2)
    this.resonanceGain = vibration.resonanceGain
    this.resonance = AXIS_WEIGHT.map(
      () => new Filter(bandPass(vibration.resonance_hz, vibration.resonanceQuality, rate_hz)),
    )
    for (let motorIndex = 0; motorIndex < 4; motorIndex++)
      this.phase[motorIndex] = Math.PI * (2 * this.random.uniform() - 1)
  }

  /** One sample at these motor speeds (rev/s). */
  step(speed_revps: Float64Array): void {
    let inStep = 0
    let opposed = 0
    let load = 0
    for (let motor = 0; motor < 4; motor++) {
      const speed = speed_revps[motor]!
      let angle = this.phase[motor]! + this.turn * speed
      if (angle > Math.PI) angle -= 2 * Math.PI * Math.ceil((angle - Math.PI) / (2 * Math.PI))
      this.phase[motor] = angle
      const share = speed / this.fullSpeed
      const size = this.amplitude[motor]! * share * share
      load += share * share
      const sine = Math.sin(angle)
      const cosine = Math.cos(angle)
      // Sine and cosine of twice and of `blades` times the angle by turning on, not by calling them again.
      const sine2 = 2 * sine * cosine
      const cosine2 = 1 - 2 * sine * sine
      let bladeSine = sine2
      let bladeCosine = cosine2
      for (let turn = 2; turn < this.blades; turn++) {
        const turned = bladeSine * cosine + bladeCosine * sine
        bladeCosine = bladeCosine * cosine - bladeSine * sine
        bladeSine = turned
      }
      // Half of the motors shake roll and pitch in step, half against each other.
      inStep += size * (sine + this.second * sine2 + this.blade * bladeSine)
      const against = size * (cosine + this.second * cosine2 + this.blade * bladeCosine)
      opposed += motor % 2 === 0 ? against : -against
    }
    for (let axis = 0; axis < 3; axis++) {
      const lines = AXIS_WEIGHT[axis]! * (axis === 1 ? opposed : inStep)
      const flow = this.shake * 0.25 * load * this.random.normal()
      const ringing = this.resonanceGain * this.resonance[axis]!.step(lines + flow)
      this.noise_dps[axis] = lines + ringing + this.white * this.random.normal()
    }
  }
}
