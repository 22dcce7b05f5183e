import type { Assignment } from '../../workers/columns/roles.ts'
import { Problem } from '../../workers/log/problems.ts'

/**
 * A column that the pilot points to may be no clock at all.
 * @param duration_s from the first to the last stamp, mended
 * @throws Problem no-time when it stands still from beginning to end
 */
export function checkClockRuns(duration_s: number, assignments: readonly Assignment[]): void {
  if (duration_s > 0) return
  const name = assignments.find(({ role }) => role === 'time')?.name ?? ''
  throw new Problem('no-time', `“${name}” stands still: it can’t be the time column.`)
}
