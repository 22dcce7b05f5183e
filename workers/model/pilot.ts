import { AXES } from '../flight/axes.ts'
import { hoverCommand, type Craft } from './craft.ts'
import { handMovement, turnKind, type FlownManoeuvre, type ManoeuvreOrder } from './manoeuvre.ts'
import { Random, seedFor } from './random.ts'
import { setpoint_dps, type StickCurve, type Tune } from './tune.ts'
import type { Body } from './body.ts'

export interface PilotStyle {
  /** 0: clumsy, 1: each try like the last. */
  readonly skill: number
  /** 0: gentle hands, 1: rough ones - quicker movements, overshooting stops, nervous fingers. */
  readonly roughness: number
}

/** The pilot moves this often. */
export const PILOT_RATE_HZ = 1000
const STEP_S = 1 / PILOT_RATE_HZ
/** Height that the pilot likes to fly at, m. */
const HEIGHT_M = 15
/** Lag of the eye and hand that keep the craft level, and how strongly they do it, 1/s. */
const HAND_LAG_S = 0.16
const LEVEL_PS = 2.6
const LEVEL_MOST_DEG = 45

/** Which limb of an order is being flown; each order's own code gives the numbers a meaning. */
interface Run {
  order: ManoeuvreOrder
  start_s: number
  phase: number
  phaseStart_s: number
  turned_deg: number
  stick: number
  ramp_s: number
  back_s: number
  hold_s: number
  release_s: number
}

/**
 * A pilot who flies a list of orders: open-loop hand movements for the manoeuvres, and a slow, lagging eye that
 * keeps the craft level and at its height in between. Human spread from try to try comes from the seed.
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
  private readonly idleThrottle: number
  private hover: number
  private next = 0
  private run: Run | null = null
  /** Seconds of rest left between two orders. */
  private rest_s = 0
  /** Levelling: the two lags of the hand for roll and pitch, then throttle; and tremor per stick. */
  private readonly hand = new Float64Array(6)
  private readonly tremor = new Float64Array(8)
  private readonly levelGain = new Float64Array(2)
  private readonly push = new Float64Array(3)
  private throttleOrder = -1
  private sinkOrder = 0

  constructor(craft: Craft, tune: Tune, orders: readonly ManoeuvreOrder[], style: PilotStyle, seed: number) {
    this.orders = orders
    this.style = style
    this.random = new Random(seedFor(seed, 'pilot'))
    this.curves = AXES.map((axis) => tune.curves[axis])
    const range = tune.top - tune.idle
    this.hover = (hoverCommand(craft) - tune.idle) / range
    this.idleThrottle = 0
  }

  /** One movement at `t_s`, seeing the craft's body. */
  step(t_s: number, body: Body): void {
    this.push.fill(0)
    this.throttleOrder = -1
    this.sinkOrder = 0
    if (this.run === null) this.begin(t_s)
    if (this.run !== null) this.fly(this.run, t_s, body)
    this.keepLevel(body)
    this.keepHeight(body)
    for (let axis = 0; axis < 3; axis++) this.sticks[axis] = limit(this.sticks[axis]! + this.push[axis]!, 1)
  }

  /** A value with human spread: relative standard deviation `spread` for an unskilled hand. */
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
    const open = 'throttle' in order ? Math.min(1, Math.max(order.throttle, this.hover * 1.4)) : 0
    const wanted = 'stick' in order ? order.stick : open
    this.run = {
      order,
      start_s: t_s,
      phase: 0,
      phaseStart_s: t_s,
      turned_deg: 0,
      stick: Math.min(1, this.about(wanted * (1 + 0.08 * rough), 0.12)),
      ramp_s: this.about(0.15 * quick, 0.3),
      back_s: this.about(0.13 * quick, 0.3),
      hold_s: this.about(order.kind === 'wash dive' ? order.drop_s : 0.09, 0.2),
      release_s: -1,
    }
    for (let axis = 0; axis < 2; axis++) if (order.kind === 'turn') this.levelGain[axis] = 0
  }

  private fly(run: Run, t_s: number, body: Body): void {
    const order = run.order
    switch (order.kind) {
      case 'hover':
        if (t_s - run.start_s >= order.duration_s) this.end(run, t_s, 0)
        return
      case 'take-off':
        this.sinkOrder = -4
        if (t_s - run.start_s < 1) this.throttleOrder = this.idleThrottle
        else if (body.height_m > 5 || t_s - run.start_s > 6) this.end(run, t_s, 0.15)
        return
      case 'landing':
        this.land(run, t_s, body)
        return
      case 'turn':
        this.turn(run, order, t_s, body)
        return
      case 'snap':
        this.snap(run, order, t_s)
        return
      case 'sweep':
        this.sweep(run, order, t_s)
        return
      case 'punch':
        this.punch(run, t_s, body)
        return
      case 'wash dive':
        this.dive(run, t_s, body)
        return
    }
  }

  /** Hand out, wait for the craft to come round, hand back: it lets go before, by what the return still turns. */
  private turn(run: Run, order: ManoeuvreOrder & { kind: 'turn' }, t_s: number, body: Body): void {
    const axis = AXES.indexOf(order.axis)
    const rate_dps = (body.rate_radps[axis]! * 180) / Math.PI
    run.turned_deg += rate_dps * order.direction * STEP_S
    const since = t_s - run.phaseStart_s
    if (run.phase === 0) {
      this.push[axis] = order.direction * run.stick * handMovement(since / run.ramp_s)
      const seen_s = 0.02 + run.back_s * 0.42
      const to_go = run.turned_deg + Math.abs(rate_dps) * seen_s
      if (to_go >= 360 || since > 4) this.next_phase(run, t_s, true)
    } else if (run.phase === 1) {
      this.push[axis] = order.direction * run.stick * (1 - handMovement(since / run.back_s))
      if (since >= run.back_s) this.next_phase(run, t_s, false)
    } else {
      // Rough hands throw the stick past the middle.
      const kick = 0.16 * this.style.roughness * run.stick
      this.push[axis] = -order.direction * kick * bump(since / 0.09)
      if (since >= 0.42) this.end(run, t_s, run.stick)
    }
    // Upside down, thrust pulls to the ground: the hand eases the throttle until the craft is round.
    if (run.phase < 2)
      this.throttleOrder = this.hover * (run.turned_deg > 60 && run.turned_deg < 290 ? 0.45 : 1.1)
  }

  private snap(run: Run, order: ManoeuvreOrder & { kind: 'snap' }, t_s: number): void {
    const axis = AXES.indexOf(order.axis)
    const since = t_s - run.phaseStart_s
    const side = run.phase === 0 ? order.direction : -order.direction
    const ramp_s = run.ramp_s * 0.6
    const whole_s = 2 * ramp_s + run.hold_s
    const out = handMovement(since / ramp_s)
    const back = handMovement((since - ramp_s - run.hold_s) / ramp_s)
    if (run.phase < 2) {
      this.push[axis] = side * run.stick * (out - back)
      if (run.phase === 0 && run.release_s < 0 && since > ramp_s + run.hold_s) run.release_s = t_s
      if (since >= whole_s + (run.phase === 0 ? 0.03 : 0)) this.next_phase(run, t_s, false)
    } else if (since >= 0.3) this.end(run, t_s, run.stick)
  }

  private sweep(run: Run, order: ManoeuvreOrder & { kind: 'sweep' }, t_s: number): void {
    const axis = AXES.indexOf(order.axis)
    const since = t_s - run.start_s
    const ratio = order.to_hz / order.from_hz
    const speed = Math.log(ratio) / order.duration_s
    const phase = (2 * Math.PI * order.from_hz * (Math.exp(speed * since) - 1)) / speed
    const f_hz = order.from_hz * Math.exp(speed * since)
    // A hand's reach shrinks as it goes faster; slow swings are kept small so that the craft stays upright.
    const reach = Math.min(1, f_hz / 1.2) / (1 + (f_hz / 7) ** 2)
    const edge = Math.min(1, since / 0.2, (order.duration_s - since) / 0.2)
    this.push[axis] = run.stick * reach * Math.max(0, edge) * Math.sin(phase)
    if (since >= order.duration_s) this.end(run, t_s, run.stick)
  }

  private punch(run: Run, t_s: number, body: Body): void {
    const since = t_s - run.phaseStart_s
    const quick = run.ramp_s * 0.7
    if (run.phase === 0) {
      this.throttleOrder = this.hover + (run.stick - this.hover) * handMovement(since / quick)
      if (since >= quick + 0.2) this.next_phase(run, t_s, true)
    } else if (run.phase === 1) {
      const low = this.hover * 0.25
      this.throttleOrder = run.stick + (low - run.stick) * handMovement(since / quick)
      if (since >= quick + 0.25 && (body.velocity_mps[2]! > 0.5 || since > 1.5))
        this.next_phase(run, t_s, false)
    } else {
      this.throttleOrder = this.hover * (0.25 + 0.75 * handMovement(since / 0.2))
      if (since >= 0.35) this.end(run, t_s, run.stick)
    }
  }

  private dive(run: Run, t_s: number, body: Body): void {
    const since = t_s - run.phaseStart_s
    if (run.phase === 0) {
      this.throttleOrder = this.hover * (1 - 0.92 * handMovement(since / 0.2))
      if (since >= run.hold_s) this.next_phase(run, t_s, true)
    } else if (run.phase === 1) {
      const low = this.hover * 0.08
      this.throttleOrder = low + (run.stick - low) * handMovement(since / (run.ramp_s * 0.8))
      if (since >= 0.25 && (body.velocity_mps[2]! < 0.8 || since > 1)) this.next_phase(run, t_s, false)
    } else {
      this.throttleOrder = run.stick + (this.hover - run.stick) * handMovement(since / 0.25)
      if (since >= 0.7) this.end(run, t_s, run.stick)
    }
  }

  private land(run: Run, t_s: number, body: Body): void {
    this.sinkOrder = Math.min(2.6, Math.max(0.5, body.height_m * 0.5))
    if (run.phase === 0 && body.height_m < 0.05 && t_s - run.start_s > 1) this.next_phase(run, t_s, false)
    if (run.phase === 1) {
      this.throttleOrder = this.idleThrottle
      if (t_s - run.phaseStart_s > 0.8) this.end(run, t_s, 0)
    }
  }

  private next_phase(run: Run, t_s: number, release: boolean): void {
    run.phase++
    run.phaseStart_s = t_s
    if (release) run.release_s = t_s
  }

  private end(run: Run, t_s: number, size: number): void {
    const { order } = run
    const release_s = run.release_s < 0 ? null : run.release_s
    const sized = order.kind === 'hover' || order.kind === 'take-off' || order.kind === 'landing' ? 0 : size
    const common = { start_s: run.start_s, release_s, end_s: t_s, size: sized }
    if (order.kind === 'turn')
      this.flown.push({ ...common, kind: turnKind(order.axis), axis: order.axis, direction: order.direction })
    else if (order.kind === 'snap')
      this.flown.push({ ...common, kind: 'snap', axis: order.axis, direction: order.direction })
    else if (order.kind === 'sweep')
      this.flown.push({ ...common, kind: 'sweep', axis: order.axis, direction: 0 })
    else if (order.kind === 'punch' && release_s !== null) {
      this.flown.push({
        ...common,
        kind: 'punch',
        axis: null,
        direction: 0,
        end_s: release_s,
        release_s: null,
      })
      this.flown.push({
        ...common,
        kind: 'chop',
        axis: null,
        direction: 0,
        start_s: release_s,
        release_s: null,
      })
    } else if (order.kind !== 'punch')
      this.flown.push({ ...common, kind: order.kind, axis: null, direction: 0 })
    this.run = null
    if (this.next === this.orders.length) this.done = true
    this.rest_s = order.kind === 'hover' ? 0 : this.about(0.45 - 0.2 * this.style.roughness, 0.3)
  }

  /** The eye sees the tilt, the hand follows late; tremor and nervousness ride on top. */
  private keepLevel(body: Body): void {
    const busy = this.run !== null && this.run.order.kind === 'turn' && this.run.phase < 2
    const tilt0 = (Math.atan2(body.down[1]!, body.down[2]!) * 180) / Math.PI
    const flat = Math.sqrt(body.down[1]! ** 2 + body.down[2]! ** 2)
    const tilt1 = (-Math.atan2(body.down[0]!, body.down[2]! < 0 ? -flat : flat) * 180) / Math.PI
    const nervous = 0.004 + 0.022 * this.style.roughness + 0.01 * (1 - this.style.skill)
    for (let axis = 0; axis < 2; axis++) {
      // After a turn the eye needs a moment before it corrects, and does so softly at first.
      const gain = this.levelGain[axis]!
      this.levelGain[axis] = busy ? 0 : gain + (1 - gain) * (STEP_S / 0.5)
      const target_dps = -LEVEL_PS * limit(axis === 0 ? tilt0 : tilt1, LEVEL_MOST_DEG) * gain
      const slope = setpoint_dps(this.curves[axis]!, 0.05) / 0.05
      const keep = STEP_S / (HAND_LAG_S / 2)
      this.hand[axis * 2] = this.hand[axis * 2]! + (target_dps / slope - this.hand[axis * 2]!) * keep
      this.hand[axis * 2 + 1] =
        this.hand[axis * 2 + 1]! + (this.hand[axis * 2]! - this.hand[axis * 2 + 1]!) * keep
    }
    for (let axis = 0; axis < 3; axis++) {
      const shake = this.shaken(axis, nervous)
      const level = axis < 2 ? this.hand[axis * 2 + 1]! : 0
      this.sticks[axis] = this.airborne(body) ? level + shake : 0
    }
  }

  private keepHeight(body: Body): void {
    const sink = this.sinkOrder !== 0 ? this.sinkOrder : -limit(0.5 * (HEIGHT_M - body.height_m), 3)
    const error = body.velocity_mps[2]! - sink
    const upright = Math.max(0.5, body.down[2]!)
    const wanted =
      this.throttleOrder >= 0
        ? this.throttleOrder
        : limit01((this.hover * (1 + 0.16 * limit(error, 4))) / upright)
    const lag_s = this.throttleOrder >= 0 ? 0.012 : HAND_LAG_S * 0.6
    this.hand[5] = this.hand[5]! + (wanted - this.hand[5]!) * (STEP_S / lag_s)
    const free = this.throttleOrder < 0 && this.airborne(body)
    // The hand learns where hovering lies as the battery empties.
    if (free && Math.abs(error) < 2)
      this.hover = Math.min(0.9, this.hover + 0.02 * error * this.hover * STEP_S)
    const shake = free ? this.shaken(3, 0.003 + 0.014 * this.style.roughness) : 0
    this.sticks[3] = limit01(this.hand[5]! + shake)
  }

  /** Two lags of about 1.5 Hz over white noise, standard deviation `size`. */
  private shaken(stick: number, size: number): number {
    const keep = STEP_S / 0.1
    const scale = size * Math.sqrt(4 / keep)
    const first = this.tremor[stick * 2]!
    this.tremor[stick * 2] = first + (scale * this.random.normal() - first) * keep
    this.tremor[stick * 2 + 1] = this.tremor[stick * 2 + 1]! + (first - this.tremor[stick * 2 + 1]!) * keep
    return this.tremor[stick * 2 + 1]!
  }

  private airborne(body: Body): boolean {
    return body.height_m > 0.2
  }
}

function limit(value: number, most: number): number {
  return value > most ? most : value < -most ? -most : value
}

function limit01(value: number): number {
  return value > 1 ? 1 : value < 0 ? 0 : value
}

/** One smooth hump over share 0..1. */
function bump(share: number): number {
  return share <= 0 || share >= 1 ? 0 : Math.sin(Math.PI * share) ** 2
}
