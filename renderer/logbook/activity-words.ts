import type { Activity } from '../../electron/desk/contract/schemas.ts'
import { durationInWords } from './words.ts'

/** A turn rate that fills the height of a strip, deg/s; faster ones are cut off there. Drawn by its square root. */
const FULL_DPS = 900

/** Height of a bar for a turn rate, 0..1: by the square root, so that a hover shows beside a flip. */
export function turnHeight(turn_dps: number): number {
  return Math.min(1, Math.sqrt(turn_dps / FULL_DPS))
}

/** What the strip shows, for those who don't see it. */
export function activityInWords(activity: Activity | null, duration_s: number): string {
  if (!activity) return 'No picture of this flight.'
  const words: string[] = []
  const power = known(activity.power_percent)
  if (power.length > 0) {
    const name = activity.powerFrom === 'throttle' ? 'Throttle' : 'Motors'
    words.push(
      `${name} ${Math.min(...power)} to ${Math.max(...power)} %, ${Math.round(meanOf(power))} % on average.`,
    )
  }
  const turns = known(activity.turn_dps)
  if (turns.length > 0 && activity.turn_dps) {
    const most = Math.max(...turns)
    const at_s = ((activity.turn_dps.indexOf(most) + 0.5) / activity.turn_dps.length) * duration_s
    const rms = Math.sqrt(meanOf(turns.map((turn) => turn * turn)))
    words.push(
      `Turning ${Math.round(rms)} deg/s RMS, busiest at ${durationInWords(at_s)} with ${Math.round(most)} deg/s.`,
    )
  }
  return words.join(' ') || 'Neither throttle nor gyro was found.'
}

const known = (values: readonly (number | null)[] | null) => (values ?? []).filter((value) => value !== null)
const meanOf = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length
