import type { Axis } from '../flight/axes.ts'

/** What a pilot can be asked to fly. Sizes are shares of full stick or of the throttle. */
export type ManoeuvreOrder =
  | { readonly kind: 'hover'; readonly duration_s: number }
  | { readonly kind: 'take-off' }
  | { readonly kind: 'landing' }
  /** A whole turn about one axis: roll, flip (pitch) or spin (yaw, unscored by most). */
  | { readonly kind: 'turn'; readonly axis: Axis; readonly direction: 1 | -1; readonly stick: number }
  /** Out and back with the stick, then the same the other way. */
  | { readonly kind: 'snap'; readonly axis: Axis; readonly direction: 1 | -1; readonly stick: number }
  /** The stick swung to and fro, slow to fast. */
  | {
      readonly kind: 'sweep'
      readonly axis: Axis
      readonly stick: number
      readonly from_hz: number
      readonly to_hz: number
      readonly duration_s: number
    }
  /** Throttle thrown open, then shut. */
  | { readonly kind: 'punch'; readonly throttle: number }
  /** A level drop with the throttle shut, caught by opening it: through the craft's own wake. */
  | { readonly kind: 'wash dive'; readonly drop_s: number; readonly throttle: number }

export type ManoeuvreKind =
  | 'hover'
  | 'take-off'
  | 'landing'
  | 'roll'
  | 'flip'
  | 'spin'
  | 'snap'
  | 'sweep'
  | 'punch'
  | 'chop'
  | 'wash dive'

/** A manoeuvre as it was flown: part of the truth beside a log. */
export interface FlownManoeuvre {
  readonly kind: ManoeuvreKind
  readonly axis: Axis | null
  readonly direction: 1 | -1 | 0
  readonly start_s: number
  /** Where the stick began to return from a turn or snap; where the throttle opened in a wash dive. */
  readonly release_s: number | null
  readonly end_s: number
  /** Largest stick deflection, or the throttle of a punch or dive's catch; 0 for hovering. */
  readonly size: number
}

/** Name of a whole turn about an axis. */
export function turnKind(axis: Axis): ManoeuvreKind {
  return axis === 'roll' ? 'roll' : axis === 'pitch' ? 'flip' : 'spin'
}

/** A hand's movement from 0 to 1 over share 0..1 of its time, of least jerk (Flash & Hogan 1985, from memory). */
export function handMovement(share: number): number {
  if (share <= 0) return 0
  if (share >= 1) return 1
  return share * share * share * (10 - 15 * share + 6 * share * share)
}
