import { AXES, type Axis } from '../flight/axes.ts'
import type { Quantity, UnitId } from '../units/units.ts'

/** Parts of the controller's demand on an axis. */
export const TERMS = ['pTerm', 'iTerm', 'dTerm', 'feedForward'] as const
export type Term = (typeof TERMS)[number]

/** What a column means to the program. Motors count from 1. */
export type Role =
  | 'time'
  | `gyro.${Axis}`
  /** The gyro before the filters of the craft, beside a filtered one. */
  | `unfiltered.${Axis}`
  | `setpoint.${Axis}`
  | `stick.${Axis}`
  | 'throttle'
  | `motor.${number}`
  /** How fast a motor turned. */
  | `speed.${number}`
  | `${Term}.${Axis}`
  | 'battery'

export const MAX_MOTORS = 12

/** All roles in the order in which they are listed. */
export const ROLES: readonly Role[] = [
  'time',
  ...AXES.map((axis) => `gyro.${axis}` as const),
  ...AXES.map((axis) => `unfiltered.${axis}` as const),
  ...AXES.map((axis) => `setpoint.${axis}` as const),
  ...AXES.map((axis) => `stick.${axis}` as const),
  'throttle',
  ...Array.from({ length: MAX_MOTORS }, (_, index) => `motor.${index + 1}` as const),
  ...Array.from({ length: MAX_MOTORS }, (_, index) => `speed.${index + 1}` as const),
  ...TERMS.flatMap((term) => AXES.map((axis) => `${term}.${axis}` as const)),
  'battery',
]

/** The quantity a role is measured in. */
export function quantityOf(role: Role): Quantity {
  if (role === 'time') return 'time'
  if (role === 'throttle') return 'throttle'
  if (role === 'battery') return 'voltage'
  if (role.startsWith('motor.')) return 'motor'
  if (role.startsWith('speed.')) return 'speed'
  if (role.startsWith('stick.')) return 'stick'
  if (TERMS.some((term) => role.startsWith(`${term}.`))) return 'term'
  return 'rate'
}

/** How far an assignment can be trusted: shown in the window beside the reason. */
export type Sureness = 'certain' | 'likely' | 'guess'

/** Who said so: the program's reading of the header, an earlier choice for the same header, or the pilot. */
export type SetBy = 'program' | 'memory' | 'pilot'

/** One column given one role. value_canonical = sign * (value_in_file * scale + offset) of its unit. */
export interface Assignment {
  readonly role: Role
  /** Index of the column in the file, from 0. */
  readonly column: number
  /** The column's name as the file has it. */
  readonly name: string
  readonly unit: UnitId
  readonly sign: 1 | -1
  readonly sure: Sureness
  readonly setBy: SetBy
  /** Why, in one plain sentence for the pilot. */
  readonly how: string
}
