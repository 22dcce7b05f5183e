/** How columns, flights and counts are put into words. */
import type { ClockReport } from '../../workers/log/log.ts'
import type { FlightSummary } from '../../electron/desk/contract/schemas.ts'
import { AXES } from '../../workers/flight/axes.ts'
import { KIND_WORDS } from '../../workers/columns/role-words.ts'
import { TERMS, type Role, type Sureness, type Term } from '../../workers/columns/roles.ts'

export const SURENESS_WORDS: Record<Sureness, string> = {
  certain: 'sure',
  likely: 'likely',
  guess: 'a guess: please check',
}

/** "gyro, setpoint, throttle, 4 motors": what a flight has, in one line. */
export function rolesInWords(roles: readonly Role[]): string {
  const has = new Set(roles)
  const words: string[] = []
  const addAxes = (kind: 'gyro' | 'unfiltered' | 'setpoint' | 'stick' | Term) => {
    const axes = AXES.filter((axis) => has.has(`${kind}.${axis}`))
    const word = KIND_WORDS[kind] ?? kind
    if (axes.length === AXES.length) words.push(word)
    else if (axes.length > 0) words.push(`${word} (${axes.join(', ')})`)
  }
  for (const kind of ['gyro', 'setpoint', 'stick'] as const) addAxes(kind)
  if (has.has('throttle')) words.push('throttle')
  const motors = roles.filter((role) => role.startsWith('motor.')).length
  if (motors > 0) words.push(motors === 1 ? '1 motor' : `${motors} motors`)
  if (has.has('speed.1')) words.push('motor speeds')
  for (const kind of ['unfiltered', ...TERMS] as const) addAxes(kind)
  return words.join(', ') || 'nothing that can be compared'
}

/** "1:08" */
export function durationInWords(duration_s: number): string {
  const whole_s = Math.round(duration_s)
  return `${Math.floor(whole_s / 60)}:${String(whole_s % 60).padStart(2, '0')}`
}

/** "100 Hz", "2.0 kHz" */
export function rateInWords(rate_hz: number): string {
  if (!Number.isFinite(rate_hz)) return 'not known'
  if (rate_hz >= 999.5) return `${(rate_hz / 1000).toFixed(rate_hz >= 10_000 ? 0 : 1)} kHz`
  return `${rate_hz.toFixed(rate_hz < 10 ? 1 : 0)} Hz`
}

/** What the stamps did, every count of it, also those of which nothing is to be feared: "3 gaps (longest 41 ms, ...)". */
export function clockInWords(clock: ClockReport): string {
  const gaps =
    clock.gaps === 0
      ? '0 gaps'
      : `${countInWords(clock.gaps, 'gap')} (longest ${(clock.longestGap_s * 1000).toFixed(0)} ms, ${countInWords(clock.missingFrames, 'frame')} missing)`
  const drift = clock.drift ?? 0
  return [
    gaps,
    `${clock.duplicates} repeated and ${clock.backward} backward stamps`,
    ...(clock.unreadable ? [`${clock.unreadable} empty`] : []),
    countInWords(clock.wraps, 'counter wrap'),
    countInWords(clock.restarts ?? 0, 'new beginning'),
    countInWords(clock.bursts ?? 0, 'burst'),
    // A tenth of a per mille is far below what any spectrum shows.
    `drift ${Math.abs(drift) < 5e-5 ? '0' : (100 * drift).toFixed(2)} % from beginning to end`,
  ].join(', ')
}

/** The day (and time, where known) on which a flight was flown; a dash when the log does not say. */
export function dayInWords(flight: Pick<FlightSummary, 'flownAt_ms'>): string {
  if (flight.flownAt_ms === null) return '–'
  return new Date(flight.flownAt_ms).toISOString().slice(0, 16).replace('T', ' ').replace(' 00:00', '')
}

/** "12.3 MB" */
export function bytesInWords(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`
  if (bytes < 1e6) return `${(bytes / 1e3).toFixed(0)} kB`
  return `${(bytes / 1e6).toFixed(1)} MB`
}

/** Made once: a formatter costs far more than what it formats, and a list that is scrolled asks for hundreds. */
const COUNTS = new Intl.NumberFormat('en-US')
const DAYS = new Intl.DateTimeFormat('en-GB', {
  weekday: 'short',
  day: 'numeric',
  month: 'short',
  year: 'numeric',
  timeZone: 'UTC',
})

/** "3 flights", "1 flight", "12,345 flights" */
export function countInWords(count: number, word: string): string {
  return `${COUNTS.format(count)} ${word}${count === 1 ? '' : 's'}`
}

/** "Thu 1 May 2025": an ISO day as people say it. */
export function longDay(day: string): string {
  if (day === '') return 'Day not known'
  return DAYS.format(new Date(`${day}T00:00:00Z`)).replace(',', '')
}
