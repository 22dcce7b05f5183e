import type { Axis } from '../flight/axes.ts'

/**
 * What a pilot did, told from sticks, setpoint and throttle alone, never from the gyro: so that what the craft
 * answered can't decide which of its answers are compared.
 */
export const MANOEUVRE_KINDS = ['turn', 'snap', 'swing', 'sweep', 'punch', 'chop', 'wash', 'hover'] as const

/**
 * turn: a roll, flip or spin of at least 250 deg that is stopped. snap: out, back and at once the other way.
 * swing: one stroke out and back. sweep: four strokes or more to and fro. punch, chop: throttle thrown open, shut.
 * wash: low throttle caught by opening it. hover: hands at rest.
 */
export type ManoeuvreKind = (typeof MANOEUVRE_KINDS)[number]

/** One manoeuvre. Times are seconds on the flight's own clock. Plain data. */
export interface Manoeuvre {
  /** Stable while the flight and the method stay the same, e.g. 'roll@12.34': what edits refer to. */
  readonly id: string
  readonly kind: ManoeuvreKind
  /** For people, e.g. 'roll right', 'flip back', 'snap left', 'punch'. */
  readonly name: string
  /** Null for what the throttle does and for hovering. */
  readonly axis: Axis | null
  /** Sign of the setpoint on the stroke that is stopped; 0 without an axis. */
  readonly direction: 1 | -1 | 0
  readonly start_s: number
  readonly end_s: number
  /**
   * Where the setpoint is back near zero (turn, snap, swing), where the throttle was opened (wash, punch) or shut
   * (chop); null for sweep and hover. What the craft does from here on is its answer.
   */
  readonly stop_s: number | null
  readonly inputs: ManoeuvreInputs
  /** Changed by the pilot: kind put right. */
  readonly edited: boolean
}

/** How it was flown: what like is told from unlike by. Null where it does not apply or is not logged. */
export interface ManoeuvreInputs {
  /** Largest |setpoint| on the stroke that is stopped, deg/s. Throttle kinds: null. */
  readonly peak_dps: number | null
  /** Largest rate of change of the setpoint on the way to the stop, deg/s^2. */
  readonly snap_dps2: number | null
  readonly duration_s: number
  /** Mean throttle, 0..1, over a quarter of a second from the stop on. */
  readonly throttle: number | null
  /** The same as a share of the flight's usual throttle: comparable where a stick position means another thrust. */
  readonly load: number | null
  /** Size of a throttle step, 0..1; null for sticks. */
  readonly step: number | null
  /** Setpoint's turn from start to stop, deg, along the direction. */
  readonly angle_deg: number | null
  /** Null when not logged. */
  readonly voltage_V: number | null
}

/** A pilot's correction of what was detected; remembered beside the flight. */
export interface ManoeuvreEdit {
  readonly id: string
  readonly kind?: ManoeuvreKind
  readonly leaveOut?: boolean
}
