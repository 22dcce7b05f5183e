import { applyAssignment } from '../columns/apply-assignment.ts'
import { AXES } from '../flight/axes.ts'
import type { Assignment, Role } from '../columns/roles.ts'
import type { ClockReport, Notice } from '../log/log.ts'
import { SignalHealth } from './signal-health.ts'
import { many, said } from './words.ts'

/** What the health of a flight is judged by. */
export interface HealthInput {
  readonly clock: ClockReport
  /** Mended stamps in seconds. */
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
  const { clock, time_s, assignments, column } = input
  const signals = new SignalHealth(time_s, clock.effectiveRate_hz)
  for (const assignment of assignments) {
    if (assignment.role === 'time') continue
    signals.add(assignment, applyAssignment(await column(assignment.column), assignment))
  }
  return [...clockNotices(clock), ...missingNotices(assignments), ...signals.notices()]
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
  const estimated = AXES.some(
    (axis) => !has(`setpoint.${axis}`) && has(`stick.${axis}`) && has(`gyro.${axis}`),
  )
    ? ' What the sticks asked for is drawn as an estimate, where they were held still often enough.'
    : ''
  if (gyro.length === 3) {
    missing(
      'No gyro was found.',
      'Spectra, tracking error, lag and everything else about the craft’s turning can’t be given.',
    )
  } else if (gyro.length > 0)
    missing(`No gyro was found for ${gyro.join(' and ')}.`, 'Those axes stay empty.')
  if (setpoint.length === 3) {
    missing('No setpoint was found.', `Tracking error and lag can’t be given.${estimated}`)
  } else if (setpoint.length > 0) {
    missing(
      `No setpoint was found for ${setpoint.join(' and ')}.`,
      `Tracking error and lag can’t be given there.${estimated}`,
    )
  }
  if (stick.length === 3 && setpoint.length === 3) {
    missing('No sticks were found.', 'Two flights can be lined up by their gyro or by hand only.')
  }
  if (!has('throttle')) missing('No throttle was found.', 'Noise by throttle and prop wash can’t be given.')
  if (!has('motor.1')) missing('No motors were found.', 'Headroom and motor saturation can’t be given.')
  return notices
}
