import type { Axis } from '../flight/axes.ts'
import type { ManoeuvreKind } from './manoeuvre.ts'

const SIDES: Record<Axis, readonly [positive: string, negative: string]> = {
  roll: ['right', 'left'],
  pitch: ['back', 'forward'],
  yaw: ['right', 'left'],
}
const TURNS: Record<Axis, string> = { roll: 'roll', pitch: 'flip', yaw: 'spin' }

/** A catch on the way out of a turn, told from one out of a level drop. */
export const CATCH_AFTER_TURN = 'catch after a turn'

/**
 * A manoeuvre's name for people: 'roll right', 'flip back', 'pitch snap forward', 'punch'. Positive is right side down,
 * nose up and nose right, as the program's axes have it.
 */
export function manoeuvreName(kind: ManoeuvreKind, axis: Axis | null, direction: 1 | -1 | 0): string {
  if (axis === null) return kind === 'wash' ? 'drop and catch' : kind
  const side = direction === 0 ? '' : ` ${SIDES[axis][direction > 0 ? 0 : 1]}`
  return kind === 'turn' ? `${TURNS[axis]}${side}` : `${axis} ${kind}${side}`
}
