import { AXES } from '../flight/axes.ts'
import { DEG_PER_RAD } from '../units/units.ts'
import type { Body } from './body.ts'
import { handMovement, type ManoeuvreOrder } from './manoeuvre.ts'

/** The pilot's hands while an order is flown: what the move itself asks for, before the eye's corrections. */
export interface Hands {
  /** Roll, pitch and yaw stick, -1..1. */
  readonly push: Float64Array
  /** Throttle 0..1, or below 0 where the eye keeps the height. */
  throttle: number
  /** Speed at which the eye should let the craft sink, m/s; NaN: keep the usual height. */
  sink_mps: number
  /** Throttle at which this pilot takes the craft to hover. */
  hover: number
  readonly roughness: number
}

/** One order under way, with the numbers that this try drew. */
export interface Run {
  readonly order: ManoeuvreOrder
  readonly start_s: number
  phase: number
  phaseStart_s: number
  /** When the stick began to return, or the throttle to open; NaN before. */
  release_s: number
  turned_deg: number
  /** Stick or throttle aimed at. */
  readonly size: number
  readonly ramp_s: number
  readonly back_s: number
  readonly hold_s: number
}

/** How often the moves are called. */
export const PILOT_RATE_HZ = 1000
const STEP_S = 1 / PILOT_RATE_HZ
/** The hands rest after a turn, so that the stop can be seen undisturbed. */
const AFTER_TURN_S = 0.42
const AFTER_SNAP_S = 0.3

/** Moves the hands for one step of an order; true when the order is flown. */
export function fly(run: Run, hands: Hands, t_s: number, body: Body): boolean {
  const { order } = run
  switch (order.kind) {
    case 'hover':
      return t_s - run.start_s >= order.duration_s
    case 'take-off':
      hands.sink_mps = -4
      if (t_s - run.start_s < 1) hands.throttle = 0
      return body.height_m > 5 || t_s - run.start_s > 7
    case 'landing':
      return land(run, hands, t_s, body)
    case 'turn':
      return turn(run, hands, AXES.indexOf(order.axis), order.direction, t_s, body)
    case 'snap':
      return snap(run, hands, AXES.indexOf(order.axis), order.direction, t_s)
    case 'sweep':
      return sweep(run, order, hands, t_s)
    case 'punch':
      return punch(run, hands, t_s, body)
    case 'wash dive':
      return dive(run, hands, t_s, body)
  }
}

/** Hand out, wait for the craft to come round, hand back: it lets go early, by what the return still turns. */
function turn(run: Run, hands: Hands, axis: number, direction: number, t_s: number, body: Body): boolean {
  const rate_dps = body.rate_radps[axis]! * DEG_PER_RAD
  run.turned_deg += rate_dps * direction * STEP_S
  const since = t_s - run.phaseStart_s
  if (run.phase === 0) {
    hands.push[axis] = direction * run.size * handMovement(since / run.ramp_s)
    const ahead_s = 0.02 + run.back_s * 0.42
    if (run.turned_deg + Math.abs(rate_dps) * ahead_s >= 360 || since > 4) nextPhase(run, t_s, true)
  } else if (run.phase === 1) {
    hands.push[axis] = direction * run.size * (1 - handMovement(since / run.back_s))
    if (since >= run.back_s) nextPhase(run, t_s, false)
  } else {
    // Rough hands throw the stick past the middle.
    hands.push[axis] = -direction * 0.16 * hands.roughness * run.size * hump(since / 0.09)
    return since >= AFTER_TURN_S
  }
  // Upside down, thrust pulls to the ground: the hand eases the throttle until the craft is round.
  hands.throttle = hands.hover * (run.turned_deg > 60 && run.turned_deg < 290 ? 0.45 : 1.1)
  return false
}

function snap(run: Run, hands: Hands, axis: number, direction: number, t_s: number): boolean {
  const since = t_s - run.phaseStart_s
  if (run.phase === 2) return since >= AFTER_SNAP_S
  const ramp_s = run.ramp_s * 0.6
  const side = run.phase === 0 ? direction : -direction
  const out = handMovement(since / ramp_s)
  const back = handMovement((since - ramp_s - run.hold_s) / ramp_s)
  hands.push[axis] = side * run.size * (out - back)
  if (Number.isNaN(run.release_s) && since > ramp_s + run.hold_s) run.release_s = t_s
  const pause_s = run.phase === 0 ? 0.03 : 0
  if (since >= 2 * ramp_s + run.hold_s + pause_s) nextPhase(run, t_s, false)
  return false
}

function sweep(run: Run, order: ManoeuvreOrder & { kind: 'sweep' }, hands: Hands, t_s: number): boolean {
  const since = t_s - run.start_s
  const growth = Math.log(order.to_hz / order.from_hz) / order.duration_s
  const f_hz = order.from_hz * Math.exp(growth * since)
  const phase = (2 * Math.PI * (f_hz - order.from_hz)) / growth
  // A hand's reach shrinks as it goes faster; slow swings are kept small so that the craft stays upright.
  const reach = Math.min(1, f_hz / 1.2) / (1 + (f_hz / 7) ** 2)
  const edge = Math.max(0, Math.min(1, since / 0.2, (order.duration_s - since) / 0.2))
  hands.push[AXES.indexOf(order.axis)] = run.size * reach * edge * Math.sin(phase)
  return since >= order.duration_s
}

function punch(run: Run, hands: Hands, t_s: number, body: Body): boolean {
  const since = t_s - run.phaseStart_s
  const quick_s = run.ramp_s * 0.7
  const low = hands.hover * 0.25
  if (run.phase === 0) {
    hands.throttle = hands.hover + (run.size - hands.hover) * handMovement(since / quick_s)
    if (since >= quick_s + 0.2) nextPhase(run, t_s, true)
  } else if (run.phase === 1) {
    hands.throttle = run.size + (low - run.size) * handMovement(since / quick_s)
    const sinking = body.velocity_mps[2]! > 0.5
    if (since >= quick_s + 0.25 && (sinking || since > 1.5)) nextPhase(run, t_s, false)
  } else {
    hands.throttle = low + (hands.hover - low) * handMovement(since / 0.2)
    return since >= 0.35
  }
  return false
}

function dive(run: Run, hands: Hands, t_s: number, body: Body): boolean {
  const since = t_s - run.phaseStart_s
  const low = hands.hover * 0.08
  if (run.phase === 0) {
    hands.throttle = hands.hover + (low - hands.hover) * handMovement(since / 0.2)
    if (since >= run.hold_s) nextPhase(run, t_s, true)
  } else if (run.phase === 1) {
    hands.throttle = low + (run.size - low) * handMovement(since / (run.ramp_s * 0.8))
    const caught = body.velocity_mps[2]! < 0.8
    if (since >= 0.25 && (caught || since > 1)) nextPhase(run, t_s, false)
  } else {
    hands.throttle = run.size + (hands.hover - run.size) * handMovement(since / 0.25)
    return since >= 0.7
  }
  return false
}

function land(run: Run, hands: Hands, t_s: number, body: Body): boolean {
  hands.sink_mps = Math.min(2.6, Math.max(0.5, body.height_m * 0.5))
  if (run.phase === 0 && body.height_m < 0.05 && t_s - run.start_s > 1) nextPhase(run, t_s, false)
  if (run.phase === 0) return false
  hands.throttle = 0
  return t_s - run.phaseStart_s > 0.8
}

function nextPhase(run: Run, t_s: number, release: boolean): void {
  run.phase++
  run.phaseStart_s = t_s
  if (release) run.release_s = t_s
}

/** One smooth hump over share 0..1. */
function hump(share: number): number {
  return share <= 0 || share >= 1 ? 0 : Math.sin(Math.PI * share) ** 2
}
