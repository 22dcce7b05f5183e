import { roleName } from '../columns/role-words.ts'
import type { Assignment } from '../columns/roles.ts'
import type { Notice } from '../log/log.ts'
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
/** A gyro that reads no more than this is at rest. */
const REST_DPS = 1

/** Looks at a flight's columns one after another and says what is wrong with them. */
export class SignalHealth {
  private readonly time_s: Float64Array
  private readonly rate_hz: number
  /** Rows at which every gyro axis so far repeats its value, or goes on in a line. */
  private repeats: Uint8Array | null = null
  private lines: Uint8Array | null = null
  private readonly clipped: string[] = []
  private readonly dead: string[] = []
  private readonly saturated: string[] = []
  private readonly still: string[] = []
  private readonly sparse: string[] = []

  /**
   * @param time_s mended stamps
   * @param rate_hz mean rate
   */
  constructor(time_s: Float64Array, rate_hz: number) {
    this.time_s = time_s
    this.rate_hz = rate_hz
  }

  /** Takes a column in canonical units; it is not kept. */
  add(assignment: Assignment, values: Float32Array): void {
    const { role, name } = assignment
    if (role === 'time') return
    const { empty, moves } = survey(values)
    if (empty > 0.01) this.sparse.push(`“${name}” (${said(empty * 100)} %)`)
    if (role.startsWith('gyro.')) {
      const axis = role.slice(5)
      const share = clippedShare(values)
      if (share > 0) this.clipped.push(`${axis} (${said(share * 100)} % of the rows)`)
      if (!moves) this.dead.push(axis)
      this.repeats = markRepeats(values, REST_DPS, this.repeats ?? undefined)
      this.lines = markStraight(values, this.time_s, this.lines ?? undefined)
      return
    }
    if (!moves) this.still.push(`“${name}” (${roleName(role)})`)
    if (!role.startsWith('motor.')) return
    const share = saturatedShare(values)
    if (share >= 0.001) this.saturated.push(`${role.slice(6)} (${said(share * 100)} %)`)
  }

  /** What the columns taken so far show. */
  notices(): Notice[] {
    return [...this.gyroNotices(), ...this.commandNotices()]
  }

  private gyroNotices(): Notice[] {
    const { clipped, dead, time_s } = this
    const notices: Notice[] = []
    if (dead.length > 0) {
      notices.push(
        caution(`The gyro never moves on ${listed(dead)}.`, 'Nothing can be said about those axes.'),
      )
    }
    if (clipped.length > 0) {
      const text = `The gyro ran into its limit on ${listed(clipped)}.`
      notices.push(caution(text, 'Faster turns than that are not in the log.'))
    }
    const rows = Math.max(FROZEN_ROWS, Math.round(FROZEN_S * this.rate_hz) || 0)
    const frozen = this.repeats ? commonStretches([this.repeats], 1, rows) : []
    if (frozen.length > 0) {
      const text = `The gyro stands still at one value on all axes ${places(frozen, time_s)}.`
      notices.push(caution(text, 'Those stretches hold no measurement.'))
    }
    const straight = this.lines ? commonStretches([this.lines], 2, STRAIGHT_ROWS) : []
    if (straight.length > 0) {
      const text = `The gyro runs along straight lines ${places(straight, time_s)}: filled in, not measured.`
      notices.push(caution(text, 'Noise and spectra look too quiet there.'))
    }
    return notices
  }

  private commandNotices(): Notice[] {
    const { saturated, still, sparse } = this
    const notices: Notice[] = []
    if (saturated.length > 0) {
      const which = saturated.length === 1 ? 'Motor' : 'Motors'
      notices.push(
        caution(
          `${which} ${listed(saturated)} ran at full power for that share of the rows.`,
          'There the craft had nothing left to answer with; what it did says little about the tune.',
        ),
      )
    }
    if (still.length > 0) {
      const one = still.length === 1
      notices.push(
        caution(
          `${listed(still)} never ${one ? 'moves' : 'move'}.`,
          `What needs ${one ? 'it' : 'them'} can’t be given, as if ${one ? 'it' : 'they'} were missing.`,
        ),
      )
    }
    if (sparse.length > 0) {
      const text = `Many cells are empty in ${listed(sparse)}.`
      notices.push(caution(text, 'Those rows are left out of everything that needs the column.'))
    }
    return notices
  }
}

const caution = (text: string, cost: string): Notice => ({ level: 'caution', text, cost })

/** Share of empty cells, and whether the others differ at all. */
function survey(values: Float32Array): { empty: number; moves: boolean } {
  // Zeros add up to zero unless a cell is empty.
  let zero = 0
  for (let row = 0; row < values.length; row += 1) zero += (values[row] as number) * 0
  let empty = 0
  if (zero !== 0) for (let row = 0; row < values.length; row += 1) if (Number.isNaN(values[row])) empty += 1
  let at = 0
  while (at < values.length && Number.isNaN(values[at])) at += 1
  const first = values[at]
  while (at < values.length && (values[at] === first || Number.isNaN(values[at]))) at += 1
  return { empty: empty / values.length, moves: at < values.length }
}

/** "in 3 places, 0.5 s in all, the longest from 1.00 s to 1.20 s". */
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
