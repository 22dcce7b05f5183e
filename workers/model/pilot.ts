import { AXES } from '../flight/axes.ts'
import { DEG_PER_RAD } from '../units/units.ts'
import type { Body } from './body.ts'
import { hoverCommand, type Craft } from './craft.ts'
import { turnKind, type FlownManoeuvre, type ManoeuvreOrder } from './manoeuvre.ts'
import { fly, PILOT_RATE_HZ, type Hands, type Run } from './moves.ts'
import { Random, seedFor } from './random.ts'
import { setpoint_dps, type StickCurve, type Tune } from './tune.ts'

export interface PilotStyle {
  /** 0: clumsy, 1: each try like the last. */
  readonly skill: number
  /** 0: gentle hands, 1: rough ones - quicker movements, overshooting stops, nervous fingers. */
  readonly roughness: number
}

const STEP_S = 1 / PILOT_RATE_HZ
/** Height that the pilot likes to fly at, m. */
const HEIGHT_M = 15
/** Lag of the eye and hand that keep the craft level, and how strongly they do it, 1/s. */
const HAND_LAG_S = 0.16
const LEVEL_PS = 2.6
const LEVEL_MOST_DEG = 45
/** After a turn the eye takes this long to start correcting again. */
const LEVEL_RETURN_S = 0.5
/** Height in which a craft counts as off the ground, m. */
const AIRBORNE_M = 0.2

/**
 * A pilot who flies a list of orders: open-loop hand movements for the manoeuvres, and a slow, lagging eye that
 * keeps the craft level and at its height in between. Human spread from try to try comes from the seed.
 * Lags, gains and tremor are round figures of our own (common practice, no source).
 */
export class Pilot {
  /** Roll, pitch and yaw stick -1..1, throttle 0..1. */
  readonly sticks = new Float64Array(4)
  readonly flown: FlownManoeuvre[] = []
  /** True once the last order is flown. */
  done = false
  private readonly orders: readonly ManoeuvreOrder[]
  private readonly style: PilotStyle
  private readonly random: Random
  private readonly curves: StickCurve[]
  private readonly hands: Hands
  private run: Run | null = null
  private next = 0
  private rest_s = 0
  /** Two lags each of roll and pitch, one of throttle. */
  private readonly lags = new Float64Array(5)
  /** Two lags of each stick's tremor. */
  private readonly tremor = new Float64Array(8)
  /** How far roll and pitch are being levelled, 0..1. */
  private readonly levelling = new Float64Array(2)

  constructor(craft: Craft, tune: Tune, orders: readonly ManoeuvreOrder[], style: PilotStyle, seed: number) {
    this.orders = orders
    this.style = style
    this.random = new Random(seedFor(seed, 'pilot'))
    this.curves = AXES.map((axis) => tune.curves[axis])
    const hover = (hoverCommand(craft) - tune.idle) / (tune.top - tune.idle)
    this.hands = {
      push: new Float64Array(3),
      throttle: -1,
      sink_mps: NaN,
      hover,
      roughness: style.roughness,
    }
    this.done = orders.length === 0
  }

  /** One movement at `t_s`, seeing the craft's body. */
  step(t_s: number, body: Body): void {
    const { hands, sticks } = this
    hands.push.fill(0)
    hands.throttle = -1
    hands.sink_mps = NaN
    if (this.run === null) this.begin(t_s)
    if (this.run !== null && fly(this.run, hands, t_s, body)) this.end(this.run, t_s)
    this.keepLevel(body)
    this.keepHeight(body)
    for (let axis = 0; axis < 3; axis++) sticks[axis] = limit(sticks[axis]! + hands.push[axis]!, 1)
  }

  /** A value with human spread: relative standard deviation `spread` for a hand of little skill. */
  private about(value: number, spread: number): number {
    const sigma = spread * (1.15 - this.style.skill)
    return value * Math.max(0.4, 1 + sigma * limit(this.random.normal(), 2.2))
  }

  private begin(t_s: number): void {
    if (this.rest_s > 0) {
      this.rest_s -= STEP_S
      return
    }
    const order = this.orders[this.next++]
    if (order === undefined) return
    const rough = this.style.roughness
    const quick = 1 - 0.45 * rough
    // A weak craft hovers high on the throttle: what counts as opening it lies above that.
    const open = 'throttle' in order ? Math.min(1, Math.max(order.throttle, this.hands.hover * 1.4)) : 0
    const wanted = 'stick' in order ? order.stick : open
    this.run = {
      order,
      start_s: t_s,
      phase: 0,
      phaseStart_s: t_s,
      release_s: NaN,
      turned_deg: 0,
      size: Math.min(1, this.about(wanted * (1 + 0.08 * rough), 0.12)),
      ramp_s: this.about(0.15 * quick, 0.3),
      back_s: this.about(0.13 * quick, 0.3),
      hold_s: this.about(order.kind === 'wash dive' ? order.drop_s : 0.09, 0.2),
    }
    if (order.kind === 'turn') this.levelling.fill(0)
  }

  private end(run: Run, t_s: number): void {
    const { order } = run
    const release_s = Number.isNaN(run.release_s) ? null : run.release_s
    const flown = {
      start_s: run.start_s,
      release_s,
      end_s: t_s,
      size: run.size,
      axis: null,
      direction: 0 as const,
    }
    if (order.kind === 'turn')
      this.flown.push({ ...flown, kind: turnKind(order.axis), axis: order.axis, direction: order.direction })
    else if (order.kind === 'snap')
      this.flown.push({ ...flown, kind: 'snap', axis: order.axis, direction: order.direction })
    else if (order.kind === 'sweep') this.flown.push({ ...flown, kind: 'sweep', axis: order.axis })
    else if (order.kind === 'punch' && release_s !== null)
      this.flown.push(
        { ...flown, kind: 'punch', end_s: release_s, release_s: null },
        { ...flown, kind: 'chop', start_s: release_s, release_s: null },
      )
    else if (order.kind !== 'punch') this.flown.push({ ...flown, kind: order.kind })
    this.run = null
    this.done = this.next === this.orders.length
    this.rest_s = order.kind === 'hover' ? 0 : this.about(0.45 - 0.2 * this.style.roughness, 0.3)
  }

  /** The eye sees the tilt, the hand follows late; tremor and nervousness ride on top. */
  private keepLevel(body: Body): void {
    const { lags, levelling, sticks, style } = this
    const turning = this.run !== null && this.run.order.kind === 'turn' && this.run.phase < 2
    const flying = body.height_m > AIRBORNE_M
    const across = Math.sqrt(body.down[1]! ** 2 + body.down[2]! ** 2)
    const nervous = 0.004 + 0.022 * style.roughness + 0.01 * (1 - style.skill)
    for (let axis = 0; axis < 2; axis++) {
      const level = levelling[axis]!
      levelling[axis] = turning ? 0 : level + (1 - level) * (STEP_S / LEVEL_RETURN_S)
      const tilt_deg =
        DEG_PER_RAD *
        (axis === 0
          ? Math.atan2(body.down[1]!, body.down[2]!)
          : -Math.atan2(body.down[0]!, body.down[2]! < 0 ? -across : across))
      const target_dps = -LEVEL_PS * limit(tilt_deg, LEVEL_MOST_DEG) * level
      const slope = setpoint_dps(this.curves[axis]!, 0.05) / 0.05
      const keep = STEP_S / (HAND_LAG_S / 2)
      lags[axis * 2] = lags[axis * 2]! + (target_dps / slope - lags[axis * 2]!) * keep
      lags[axis * 2 + 1] = lags[axis * 2 + 1]! + (lags[axis * 2]! - lags[axis * 2 + 1]!) * keep
    }
    for (let axis = 0; axis < 3; axis++) {
      const shake = this.shaken(axis, nervous)
      sticks[axis] = flying ? (axis < 2 ? lags[axis * 2 + 1]! : 0) + shake : 0
    }
  }

  private keepHeight(body: Body): void {
    const { hands, lags } = this
    const usual_mps = -limit(0.5 * (HEIGHT_M - body.height_m), 3)
    const error = body.velocity_mps[2]! - (Number.isNaN(hands.sink_mps) ? usual_mps : hands.sink_mps)
    const upright = Math.max(0.5, body.down[2]!)
    const watched = limit01((hands.hover * (1 + 0.16 * limit(error, 4))) / upright)
    const free = hands.throttle < 0
    const wanted = free ? watched : hands.throttle
    lags[4] = lags[4]! + (wanted - lags[4]!) * (STEP_S / (free ? HAND_LAG_S * 0.6 : 0.012))
    const flying = body.height_m > AIRBORNE_M
    // The hand learns where hovering lies as the battery empties.
    if (free && flying && Math.abs(error) < 2)
      hands.hover = Math.min(0.95, hands.hover + 0.02 * error * hands.hover * STEP_S)
    const shake = free && flying ? this.shaken(3, 0.003 + 0.014 * this.style.roughness) : 0
    this.sticks[3] = limit01(lags[4]! + shake)
  }

  /** White noise behind two lags of about 1.5 Hz, standard deviation `size`. */
  private shaken(stick: number, size: number): number {
    const { tremor } = this
    const keep = STEP_S / 0.1
    const scale = size * Math.sqrt(4 / keep)
    const first = tremor[stick * 2]!
    tremor[stick * 2] = first + (scale * this.random.normal() - first) * keep
    tremor[stick * 2 + 1] = tremor[stick * 2 + 1]! + (first - tremor[stick * 2 + 1]!) * keep
    return tremor[stick * 2 + 1]!
  }
}

function limit(value: number, most: number): number {
  return value > most ? most : value < -most ? -most : value
}

function limit01(value: number): number {
  return value > 1 ? 1 : value < 0 ? 0 : value
}
