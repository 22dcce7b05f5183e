import { AXES } from '../flight/axes.ts'
import type { Assignment, Role } from '../columns/roles.ts'
import type { ClockReport, Notice } from '../log/log.ts'
import { applyAssignment } from '../columns/apply-assignment.ts'
import { clippedShare, frozenStretches, saturatedShare, straightStretches } from './stretches.ts'

/** What the health of a flight is judged by. */
export interface HealthInput {
  readonly clock: ClockReport
  /** Stamps in seconds as in the file. */
  readonly time_s: Float64Array
  readonly assignments: readonly Assignment[]
  /** Reads a column as stored; one at a time, so that a long log needs no more memory than a short one. */
  readonly column: (index: number) => Promise<Float32Array | Float64Array>
}

/**
 * What the pilot should know about a flight before trusting its numbers: clock, missing columns and what each costs,
 * clipped gyro, saturated motors, frozen and straight-line stretches. Nothing is repaired here.
 */
export async function readHealth(input: HealthInput): Promise<Notice[]> {
  return [
    ...clockNotices(input.clock),
    ...missingNotices(input.assignments),
    ...(await gyroNotices(input)),
    ...(await motorNotices(input)),
  ]
}

/** Rate, gaps and mends of the clock, in words. */
export function clockNotices(clock: ClockReport): Notice[] {
  const notices: Notice[] = []
  const rate = clock.effectiveRate_hz
  if (!Number.isFinite(rate)) {
    return [
      { level: 'missing', text: 'The clock stands still.', cost: 'Nothing that needs time can be given.' },
    ]
  }
  notices.push({
    level: 'info',
    text: `${clock.rows} rows in ${said(clock.duration_s)} s, ${said(rate)} a second.`,
  })
  if (rate < 200) {
    notices.push({
      level: 'caution',
      text: `The log runs at ${said(rate)} Hz, slow for a flight log.`,
      cost: `Nothing above ${said(rate / 2)} Hz can be seen, and vibration may show at a false frequency.`,
    })
  }
  if (clock.gaps > 0) {
    notices.push({
      level: clock.missingFrames > clock.rows / 100 ? 'caution' : 'info',
      text: `${many(clock.gaps, 'gap')} in the clock, the longest ${said(clock.longestGap_s * 1000)} ms; about ${many(clock.missingFrames, 'frame')} missing.`,
      cost: 'Gaps longer than two frames are left open, and no spectrum or fit goes across them.',
    })
  }
  const mends = [
    clock.wraps > 0 ? `its counter started over ${many(clock.wraps, 'time')}` : '',
    (clock.restarts ?? 0) > 0
      ? `it began anew ${many(clock.restarts ?? 0, 'time')}, as after a power cycle`
      : '',
    clock.duplicates > 0 ? `${many(clock.duplicates, 'stamp')} repeated` : '',
    clock.backward > 0 ? `${many(clock.backward, 'stamp')} ran backwards and were held` : '',
    (clock.unreadable ?? 0) > 0 ? `${many(clock.unreadable ?? 0, 'stamp')} empty and held` : '',
  ].filter((part) => part !== '')
  const bursts = clock.bursts ?? 0
  if (bursts > clock.rows / 200) {
    notices.push({
      level: 'caution',
      text: `Frames were stamped in bursts, ${many(bursts, 'time')}: several at once, then a pause.`,
      cost: 'Fast movements sit up to one frame beside their true time.',
    })
  }
  const drift = clock.drift ?? 0
  if (Math.abs(drift) > 0.005) {
    notices.push({
      level: 'caution',
      text: `The log ${drift > 0 ? 'slows down' : 'speeds up'} by ${said(Math.abs(drift) * 100)} % from beginning to end.`,
      cost: 'Spectra use the mean rate and are off by as much at either end.',
    })
  }
  if (mends.length > 0) notices.push({ level: 'caution', text: `The clock was mended: ${mends.join('; ')}.` })
  return notices
}

/** Roles without a column, and what each costs. */
export function missingNotices(assignments: readonly Assignment[]): Notice[] {
  const has = (role: Role): boolean => assignments.some((one) => one.role === role)
  const notices: Notice[] = []
  const missing = (text: string, cost: string): void => void notices.push({ level: 'missing', text, cost })
  const without = (kind: 'gyro' | 'setpoint' | 'stick'): string[] =>
    AXES.filter((axis) => !has(`${kind}.${axis}`))
  const gyro = without('gyro')
  const setpoint = without('setpoint')
  const stick = without('stick')
  if (gyro.length === 3) {
    missing(
      'No gyro was found.',
      'Spectra, tracking error, lag and everything else about the craft’s turning can’t be given.',
    )
  } else if (gyro.length > 0)
    missing(`No gyro was found for ${gyro.join(' and ')}.`, 'Those axes stay empty.')
  if (setpoint.length === 3) {
    missing('No setpoint was found.', 'Tracking error and lag can’t be given.')
  } else if (setpoint.length > 0) {
    missing(
      `No setpoint was found for ${setpoint.join(' and ')}.`,
      'Tracking error and lag can’t be given there.',
    )
  }
  if (stick.length === 3 && setpoint.length === 3) {
    missing('No sticks were found.', 'Two flights can be lined up by their gyro or by hand only.')
  }
  if (!has('throttle')) missing('No throttle was found.', 'Noise by throttle and prop wash can’t be given.')
  if (!has('motor.1')) missing('No motors were found.', 'Headroom and motor saturation can’t be given.')
  return notices
}

async function gyroNotices({ assignments, column, time_s }: HealthInput): Promise<Notice[]> {
  const notices: Notice[] = []
  const clipped: string[] = []
  const frozen: { axis: string; from_s: number; to_s: number }[] = []
  let straight: { from_s: number; to_s: number; toEnd: boolean } | null = null
  let straight_s = 0
  for (const axis of AXES) {
    const assignment = assignments.find((one) => one.role === `gyro.${axis}`)
    if (!assignment) continue
    const rate = applyAssignment(await column(assignment.column), assignment)
    const share = clippedShare(rate)
    if (share > 0) clipped.push(`${axis} (${said(share * 100)} % of the rows)`)
    const at = (row: number): number => (time_s[row] as number) - (time_s[0] as number)
    for (const stretch of frozenStretches(rate)) {
      frozen.push({ axis, from_s: at(stretch.from), to_s: at(stretch.to - 1) })
    }
    if (axis !== 'roll') continue
    for (const stretch of straightStretches(rate, time_s)) {
      const [from_s, to_s] = [at(stretch.from), at(stretch.to - 1)]
      straight_s += to_s - from_s
      if (!straight || to_s - from_s > straight.to_s - straight.from_s) {
        straight = { from_s, to_s, toEnd: stretch.to >= rate.length - 1 }
      }
    }
  }
  if (clipped.length > 0) {
    notices.push({
      level: 'caution',
      text: `The gyro ran into its limit on ${clipped.join(', ')}.`,
      cost: 'Faster turns than that are not in the log.',
    })
  }
  const longest = frozen.sort((a, b) => b.to_s - b.from_s - (a.to_s - a.from_s))[0]
  if (longest) {
    notices.push({
      level: 'caution',
      text: `The gyro stands still at one value on ${longest.axis} from ${said(longest.from_s)} s to ${said(longest.to_s)} s${frozen.length > 1 ? `, and in ${frozen.length - 1} more places` : ''}.`,
      cost: 'Those stretches hold no measurement.',
    })
  }
  if (straight) {
    notices.push({
      level: 'caution',
      text: `The gyro runs along straight lines for ${said(straight_s)} s in all, longest from ${said(straight.from_s)} s to ${said(straight.to_s)} s${straight.toEnd ? ', to the end of the file' : ''}: filled in, not measured.`,
      cost: 'Noise and spectra look too quiet there.',
    })
  }
  return notices
}

async function motorNotices({ assignments, column }: HealthInput): Promise<Notice[]> {
  const saturated: string[] = []
  for (const assignment of assignments) {
    if (!assignment.role.startsWith('motor.')) continue
    const share = saturatedShare(applyAssignment(await column(assignment.column), assignment))
    if (share >= 0.001) saturated.push(`${assignment.role.slice(6)} (${said(share * 100)} %)`)
  }
  if (saturated.length === 0) return []
  const which = saturated.length === 1 ? 'Motor' : 'Motors'
  return [
    {
      level: 'caution',
      text: `${which} ${saturated.join(', ')} ran at full power for that share of the rows.`,
      cost: 'There the craft had nothing left to answer with; what it did says little about the tune.',
    },
  ]
}

const said = (value: number): string => String(Number(value.toPrecision(value >= 1000 ? 5 : 3)))
const many = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`
