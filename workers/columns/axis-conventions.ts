import type { Axis } from '../flight/axes.ts'
import type { Assignment } from './roles.ts'

/**
 * How a log's x, y and z lie in the craft. The program's own axes: roll positive to the right, pitch positive nose
 * up, yaw positive to the right, as with x forward, y right, z down.
 */
export const AXIS_CONVENTIONS = {
  'forward-right-down': {
    label: 'x forward, y right, z down',
    axes: ['roll', 'pitch', 'yaw'],
    signs: [1, 1, 1],
  },
  'forward-left-up': { label: 'x forward, y left, z up', axes: ['roll', 'pitch', 'yaw'], signs: [1, -1, -1] },
  'right-forward-up': {
    label: 'x right, y forward, z up',
    axes: ['pitch', 'roll', 'yaw'],
    signs: [1, 1, -1],
  },
} as const satisfies Record<string, Convention>

interface Convention {
  readonly label: string
  /** The axis that a turn about x, y, z belongs to. */
  readonly axes: readonly [Axis, Axis, Axis]
  /** Signs that bring a right-handed turn about x, y, z to the program's own. */
  readonly signs: readonly [1 | -1, 1 | -1, 1 | -1]
}

export type AxisConvention = keyof typeof AXIS_CONVENTIONS

/**
 * Re-assigns the gyro's (or the setpoint's) columns under another convention. The given assignments must be those of
 * columns x, y, z read as roll, pitch, yaw; signs that the program turned are dropped, for the pilot now says how the
 * sensor lies. The unfiltered gyro comes from the same sensor and goes along. Other assignments are left alone.
 */
export function withConvention(
  assignments: readonly Assignment[],
  kind: 'gyro' | 'setpoint',
  convention: AxisConvention,
): Assignment[] {
  const { axes, signs, label } = AXIS_CONVENTIONS[convention]
  const letters = ['roll', 'pitch', 'yaw'] as const
  return assignments.map((assignment): Assignment => {
    const [own] = assignment.role.split('.')
    const along = own === kind || (kind === 'gyro' && own === 'unfiltered')
    const letter = along ? letters.findIndex((axis) => assignment.role === `${own as 'gyro'}.${axis}`) : -1
    if (letter < 0) return assignment
    return {
      ...assignment,
      role: `${own as 'gyro'}.${axes[letter] as Axis}`,
      sign: signs[letter] as 1 | -1,
      sure: 'certain',
      setBy: 'pilot',
      how: `The pilot says that the log has ${label}.`,
    }
  })
}
