import { applyAssignment } from '../columns/apply-assignment.ts'
import { AXES } from '../flight/axes.ts'
import type { Notice } from '../log/log.ts'
import type { HealthInput } from './health.ts'
import {
  clippedShare,
  commonStretches,
  markRepeats,
  markStraight,
  saturatedShare,
  type Stretch,
} from './stretches.ts'
import { listed, many, said } from './words.ts'

/** Shortest line that interpolation must have drawn, rows. */
const STRAIGHT_ROWS = 6
/** Shortest standstill of all axes at once. */
const FROZEN_ROWS = 10
const FROZEN_S = 0.1

/** Clipped, frozen and filled-in gyro. */
export async function gyroNotices({ assignments, column, time_s, clock }: HealthInput): Promise<Notice[]> {
  const clipped: string[] = []
  const dead: string[] = []
  const repeats: Uint8Array[] = []
  const lines: Uint8Array[] = []
  for (const axis of AXES) {
    const assignment = assignments.find((one) => one.role === `gyro.${axis}`)
    if (!assignment) continue
    const rate = applyAssignment(await column(assignment.column), assignment)
    const share = clippedShare(rate)
    if (share > 0) clipped.push(`${axis} (${said(share * 100)} % of the rows)`)
    if (neverMoves(rate)) dead.push(axis)
    repeats.push(markRepeats(rate))
    lines.push(markStraight(rate, time_s))
  }
  const notices: Notice[] = []
  const add = (text: string, cost: string): void => void notices.push({ level: 'caution', text, cost })
  if (dead.length > 0)
    add(`The gyro never moves on ${listed(dead)}.`, 'Nothing can be said about those axes.')
  if (clipped.length > 0) {
    add(`The gyro ran into its limit on ${listed(clipped)}.`, 'Faster turns than that are not in the log.')
  }
  const rows = Math.max(FROZEN_ROWS, Math.round(FROZEN_S * clock.effectiveRate_hz))
  const frozen = commonStretches(repeats, 1, rows)
  if (frozen.length > 0) {
    const text = `The gyro stands still at one value on all axes ${places(frozen, time_s)}.`
    add(text, 'Those stretches hold no measurement.')
  }
  const straight = commonStretches(lines, 2, STRAIGHT_ROWS)
  if (straight.length > 0) {
    const text = `The gyro runs along straight lines ${places(straight, time_s)}: filled in, not measured.`
    add(text, 'Noise and spectra look too quiet there.')
  }
  return notices
}

/** Saturated motors, commands that never move, columns with many empty cells. */
export async function commandNotices({ assignments, column }: HealthInput): Promise<Notice[]> {
  const saturated: string[] = []
  const still: string[] = []
  const sparse: string[] = []
  for (const assignment of assignments) {
    if (assignment.role === 'time') continue
    const values = applyAssignment(await column(assignment.column), assignment)
    const empty =
      values.reduce((count, value) => (Number.isNaN(value) ? count + 1 : count), 0) / values.length
    if (empty > 0.01) sparse.push(`“${assignment.name}” (${said(empty * 100)} %)`)
    if (assignment.role.startsWith('gyro.')) continue
    if (neverMoves(values)) still.push(`“${assignment.name}” (${assignment.role.replace('.', ' ')})`)
    if (!assignment.role.startsWith('motor.')) continue
    const share = saturatedShare(values)
    if (share >= 0.001) saturated.push(`${assignment.role.slice(6)} (${said(share * 100)} %)`)
  }
  const notices: Notice[] = []
  const add = (text: string, cost: string): void => void notices.push({ level: 'caution', text, cost })
  if (saturated.length > 0) {
    add(
      `${saturated.length === 1 ? 'Motor' : 'Motors'} ${listed(saturated)} ran at full power for that share of the rows.`,
      'There the craft had nothing left to answer with; what it did says little about the tune.',
    )
  }
  if (still.length > 0) {
    const one = still.length === 1
    add(
      `${listed(still)} never ${one ? 'moves' : 'move'}.`,
      `What needs ${one ? 'it' : 'them'} can’t be given, as if ${one ? 'it' : 'they'} were missing.`,
    )
  }
  if (sparse.length > 0) {
    add(
      `Many cells are empty in ${listed(sparse)}.`,
      'Those rows are left out of everything that needs the column.',
    )
  }
  return notices
}

function neverMoves(values: Float32Array): boolean {
  const first = values.find((value) => !Number.isNaN(value))
  return values.every((value) => value === first || Number.isNaN(value))
}

/** "in 3 places, 0.5 s in all, longest from 1 s to 1.2 s". */
function places(stretches: readonly Stretch[], time_s: Float64Array): string {
  const at = (row: number): number => (time_s[row] as number) - (time_s[0] as number)
  const length = ({ from, to }: Stretch): number => at(to - 1) - at(from)
  const longest = stretches.reduce((most, one) => (length(one) > length(most) ? one : most))
  const total_s = stretches.reduce((sum, one) => sum + length(one), 0)
  const end =
    (stretches.at(-1) as Stretch).to === time_s.length ? '; the last runs to the end of the file' : ''
  const span = `from ${at(longest.from).toFixed(2)} s to ${at(longest.to - 1).toFixed(2)} s`
  if (stretches.length === 1) return `${span}${end}`
  return `in ${many(stretches.length, 'place')}, ${said(total_s)} s in all, the longest ${span}${end}`
}
