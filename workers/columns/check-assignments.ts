import type { LogColumn } from '../log/log.ts'
import { UNITS, type Unit } from '../units/units.ts'
import { roleName } from './role-words.ts'
import { quantityOf, type Assignment } from './roles.ts'

/**
 * Whether a set of assignments can stand: each role once, columns that exist and hold numbers, units that
 * measure what the role is, and a time column. Returns the first fault as a plain sentence, or null.
 */
export function faultInAssignments(
  assignments: readonly Assignment[],
  columns: readonly LogColumn[],
): string | null {
  const seen = new Set<string>()
  for (const { role, column: index, unit } of assignments) {
    if (seen.has(role)) return `Two columns are given the meaning ${roleName(role)}; each can be given once.`
    seen.add(role)
    const column = columns.find((candidate) => candidate.index === index)
    if (!column) return `There is no column number ${index + 1} in this file.`
    if (column.type === 'text') return `The column "${column.name}" holds text, not numbers.`
    const known: Unit = UNITS[unit]
    if (!known.quantity.includes(quantityOf(role)))
      return `The unit ${known.label} does not measure ${roleName(role)}.`
  }
  return seen.has('time') ? null : 'A time column is needed: nothing can be drawn without it.'
}
