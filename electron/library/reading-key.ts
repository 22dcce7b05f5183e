import { createHash } from 'node:crypto'
import type { Assignment } from '../../workers/columns/roles.ts'

/**
 * Names how a log's content was read: which column means what, in which unit and sign, and which rows are the flight.
 * Whatever was computed under another key was computed of other numbers.
 */
export function readingKey(
  assignments: readonly Assignment[],
  rows: { readonly from: number; readonly to: number } | null,
): string {
  const meanings = assignments
    .map(({ role, column, unit, sign }) => `${role}=${column}:${unit}:${sign}`)
    .sort()
  return createHash('sha256')
    .update(JSON.stringify([meanings, rows && [rows.from, rows.to]]))
    .digest('hex')
    .slice(0, 32)
}
