import { DEG_PER_RAD } from '../units/units.ts'
import { hoverInducedSpeed_mps, type Craft } from './craft.ts'
import { bandPass, Filter } from './filters.ts'
import { GRAVITY_MPS2 } from './propeller.ts'
import { Random, seedFor } from './random.ts'

export interface Weather {
  /** Steady wind, m/s, from the south (so it blows north). */
  readonly wind_mps: number
  /** Standard deviation of each component of the turbulence, m/s. */
  readonly turbulence_mps: number
}

/** What strikes the craft beside the wind. */
export interface Trouble {
  /** Strength of the gusts from the craft's own wake; 1 is an ordinary freestyle craft, 0 none. */
  readonly wash: number
  /** Twitches that no stick asked for: how many a minute, and how large a jump of rate each gives. */
  readonly knocks_pmin: number
  readonly knock_dps: number
}

export interface Knock {
  readonly t_s: number
  readonly duration_s: number
  readonly axis: 0 | 1 | 2
  /** Jump of the rate that it would cause in a craft left alone, deg/s. */
  readonly jump_dps: number
}

export interface WashSpan {
  readonly start_s: number
  readonly end_s: number
  /** Largest intensity within, 0..about 2. */
  readonly peak: number
}

const TURBULENCE_MEMORY_S = 0.4
/** The turbulence moves once in so many steps: it is slow, and random numbers are dear. */
const TURBULENCE_EVERY = 8
const KNOCK_S = 0.012
/** The first knock comes no earlier than this, and no two closer than that. */
const KNOCK_FIRST_S = 4
const KNOCK_APART_S = 0.5
/** Torque per speed of the air across the rotors, N m per m/s (blow-back). */
const BLOWBACK_NS = 0.003
/** Root mean square torque of the wake's gusts at intensity 1, N m, per axis. */
const WASH_NM = [0.11, 0.13, 0.05] as const
const WASH_HZ = [19, 16, 13] as const
const WASH_QUALITY = 0.75
const WASH_RISE_S = 0.03
const WASH_FALL_S = 0.22
/** Below this the wake has no effect and draws no random numbers. */
const WASH_FLOOR = 0.01
/** A wash span of the truth: from where the intensity passes this, up or down. */
const WASH_SPAN = 0.15

/**
 * Torques and winds on the craft that nobody steered.
 *
 * Wake gusts: a rotor sinking into its own wake at half to one and a half times the induced speed is in the
 * vortex ring state, where the flow is unsteady (Leishman, Principles of Helicopter Aerodynamics, ch. 2; from
 * memory). The torque's size and spectrum here are our own invention, shaped to look like small craft's logs
 * (common practice, no source).
 */
export class Disturbance {
  /** Torque of this step, N m, body axes, and the wind, m/s, world axes. */
  readonly torque_Nm = new Float64Array(3)
  readonly wind_mps = new Float64Array(3)
  readonly knocks: Knock[] = []
  readonly washSpans: WashSpan[] = []
  private readonly random: Random
  private readonly weather: Weather
  private readonly wash: number
  private readonly inertia: Float64Array
  private readonly induced: number
  private readonly weight: number
  private readonly step_s: number
  private readonly washFilters: Filter[]
  private readonly washScale: Float64Array
  private readonly turbulence = new Float64Array(3)
  /** [wash intensity, peak of the running span, start of the running span or -1] */
  private readonly state = Float64Array.of(0, 0, -1)
  private readonly trouble: Trouble
  private readonly knockRandom: Random
  private knock: Knock | null = null
  private tick = 0

  constructor(craft: Craft, weather: Weather, trouble: Trouble, rate_hz: number, seed: number) {
    this.random = new Random(seedFor(seed, 'air'))
    this.weather = weather
    this.wash = trouble.wash
    this.inertia = Float64Array.of(craft.inertia_kgm2.roll, craft.inertia_kgm2.pitch, craft.inertia_kgm2.yaw)
    this.induced = hoverInducedSpeed_mps(craft)
    this.weight = craft.mass_kg * GRAVITY_MPS2
    this.step_s = 1 / rate_hz
    this.washFilters = WASH_HZ.map((f_hz) => new Filter(bandPass(f_hz, WASH_QUALITY, rate_hz)))
    // White noise of unit variance through a band-pass keeps (pi/2)(f/Q) of its rate/2 of bandwidth.
    this.washScale = Float64Array.from(WASH_HZ, (f_hz, axis) => {
      const kept = ((Math.PI / 2) * (f_hz / WASH_QUALITY)) / (rate_hz / 2)
      return WASH_NM[axis]! / Math.sqrt(kept)
    })
    this.trouble = trouble
    this.knockRandom = new Random(seedFor(seed, 'knocks'))
    if (trouble.knocks_pmin > 0) this.knock = this.drawKnock(KNOCK_FIRST_S)
  }

  /** Intensity of the wake's gusts now. */
  get washIntensity(): number {
    return this.state[0]!
  }

  /** One step; `air_mps` is the craft's velocity through the air in body axes; on the ground nothing happens. */
  step(t_s: number, air_mps: Float64Array, thrust_N: number, flying: boolean): void {
    const torque = this.torque_Nm
    torque[0] = 0
    torque[1] = 0
    torque[2] = 0
    if (!flying) return
    this.blow(air_mps)
    this.churn(t_s, air_mps[2]!, thrust_N)
    this.strike(t_s)
  }

  /** Ends a wash span that is still running when the flight is over. */
  finish(t_s: number): void {
    if (this.state[2]! >= 0) this.closeSpan(t_s)
  }

  private blow(air_mps: Float64Array): void {
    const { turbulence, weather, torque_Nm } = this
    if (weather.turbulence_mps > 0 && this.tick++ % TURBULENCE_EVERY === 0) {
      const keep = (TURBULENCE_EVERY * this.step_s) / TURBULENCE_MEMORY_S
      const kick = weather.turbulence_mps * Math.sqrt(2 * keep)
      for (let axis = 0; axis < 3; axis++)
        turbulence[axis] = turbulence[axis]! * (1 - keep) + kick * this.random.normal()
    }
    this.wind_mps[0] = weather.wind_mps + turbulence[0]!
    this.wind_mps[1] = turbulence[1]!
    this.wind_mps[2] = turbulence[2]! * 0.5
    torque_Nm[0] = -BLOWBACK_NS * air_mps[1]!
    torque_Nm[1] = BLOWBACK_NS * air_mps[0]!
  }

  private churn(t_s: number, sink_mps: number, thrust_N: number): void {
    const state = this.state
    let target = 0
    if (this.wash > 0 && sink_mps > 0 && thrust_N > 0) {
      const load = Math.sqrt(thrust_N / this.weight)
      const ratio = sink_mps / (this.induced * Math.max(0.2, load))
      const off = (ratio - 0.85) / 0.45
      target = this.wash * Math.min(1.8, load) * Math.exp(-off * off)
    }
    const intensity = state[0]!
    const next =
      intensity + ((target - intensity) * this.step_s) / (target > intensity ? WASH_RISE_S : WASH_FALL_S)
    state[0] = next
    if (next > WASH_SPAN) {
      if (state[2]! < 0) {
        state[2] = t_s
        state[1] = 0
      }
      if (next > state[1]!) state[1] = next
    } else if (state[2]! >= 0) this.closeSpan(t_s)
    if (next < WASH_FLOOR) return
    for (let axis = 0; axis < 3; axis++) {
      const gust = this.washFilters[axis]!.step(this.random.normal()) * this.washScale[axis]!
      this.torque_Nm[axis] = this.torque_Nm[axis]! + next * gust
    }
  }

  private closeSpan(t_s: number): void {
    this.washSpans.push({ start_s: this.state[2]!, end_s: t_s, peak: this.state[1]! })
    this.state[2] = -1
  }

  private strike(t_s: number): void {
    const knock = this.knock
    if (knock === null || t_s < knock.t_s) return
    const since = t_s - knock.t_s
    if (since >= knock.duration_s) {
      this.knocks.push(knock)
      this.knock = this.drawKnock(t_s + KNOCK_APART_S)
      return
    }
    // Half a sine whose area is the jump: peak = (pi/2) * area / duration.
    const peak = ((Math.PI / 2) * knock.jump_dps) / DEG_PER_RAD / knock.duration_s
    const torque = this.inertia[knock.axis]! * peak * Math.sin((Math.PI * since) / knock.duration_s)
    this.torque_Nm[knock.axis] = this.torque_Nm[knock.axis]! + torque
  }

  /** The next knock after `from_s`: gaps as chance has them (exponential), more on roll and pitch than on yaw. */
  private drawKnock(from_s: number): Knock {
    const random = this.knockRandom
    const gap_s = (-Math.log(1 - random.uniform()) * 60) / this.trouble.knocks_pmin
    const axis = Math.min(2, Math.floor(random.uniform() * 2.4)) as 0 | 1 | 2
    const sign = random.uniform() < 0.5 ? -1 : 1
    const jump_dps = sign * this.trouble.knock_dps * random.between(0.7, 1.3)
    return { t_s: from_s + gap_s, duration_s: KNOCK_S, axis, jump_dps }
  }
}
