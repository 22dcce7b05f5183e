import { isElectrical, UNITS, type UnitId } from '../units/units.ts'
import { relate, sizeOf } from './evidence.ts'
import type { FoundUnit } from './rate-units.ts'
import { MAX_MOTORS, type Assignment, type Sureness } from './roles.ts'
import type { Sample } from './sample.ts'
import type { Tokens } from './tokens.ts'
import {
  ELECTRICAL_WORDS,
  LESSER_WORDS,
  MOTOR_WORDS,
  NOT_SPEED_WORDS,
  PLAIN_TURN_WORDS,
  TURN_SPEED_WORDS,
  WEAK_MOTOR_WORDS,
} from './vocabulary.ts'

/** Rotors of hobby craft turn no faster; above this a speed counts pole pairs. Common practice, no source. */
const FASTEST_RPM = 60_000
/** Flown rotors turn at no less. Common practice, no source. */
const SLOWEST_FLOWN_RPM = 1500

interface Group {
  readonly score: number
  readonly electrical: boolean
  readonly members: Map<number, number>
}

/** True when a column's name says that it is how fast something turns: it is then no motor's command. */
export function saysSpeed({ words, unit, speedUnit }: Tokens): boolean {
  if (unit !== null) return false
  return speedUnit !== null || words.some((word) => PLAIN_TURN_WORDS.has(word))
}

/** Finds how fast each motor turned: numbered columns, from 0 or 1, with a word or a unit of turning. */
export function nameSpeeds(sample: Sample, commands: readonly Assignment[]): Assignment[] {
  const taken = new Set(commands.map(({ column }) => column))
  const groups = new Map<string, Group>()
  sample.tokens.forEach((token, column) => {
    if (!sample.columns[column] || taken.has(column)) return
    const score = scoreOf(token)
    if (score <= 0) return
    const position = token.words.findLastIndex((word) => /^\d{1,2}$/.test(word))
    if (position < 0) return
    const base = token.words.filter((_, index) => index !== position)
    const key = JSON.stringify([position, base])
    const electrical = base.some((word) => ELECTRICAL_WORDS.has(word)) || base[0] === 'e'
    const group = groups.get(key) ?? { score, electrical, members: new Map<number, number>() }
    const number = Number(token.words[position])
    if (!group.members.has(number)) group.members.set(number, column)
    groups.set(key, group)
  })
  const group = [...groups.values()]
    .filter(({ members }) => members.size >= 3 && members.size <= MAX_MOTORS)
    .sort((a, b) => b.score - a.score)[0]
  if (!group) return []
  const numbers = [...group.members.keys()].sort((a, b) => a - b)
  const columns = numbers.map((number) => group.members.get(number) as number)
  const peak = Math.max(...columns.map((column) => sizeOf(sample.columns[column] as Float64Array).peak))
  const unit = speedUnit(
    sample.tokens[columns[0] as number]?.speedUnit ?? null,
    group.electrical,
    peak,
    sample,
    columns,
  )
  if (unit === null) return []
  const from = numbers[0] === 0 ? ', counted from 0 in the file' : ''
  return columns.map((column, index) => {
    const name = sample.names[column] ?? ''
    const driven = goesWith(sample, commands, index + 1, column)
    const sure: Sureness = driven.against ? 'guess' : unit.sure
    const parts = [`“${name}” names the speed of motor ${index + 1}${from}`, unit.why, driven.why]
    return {
      role: `speed.${index + 1}` as const,
      column,
      name,
      unit: unit.unit,
      sign: 1 as const,
      sure,
      setBy: 'program' as const,
      how: `${parts.filter((part) => part !== '').join('; ')}.`,
    }
  })
}

function scoreOf(token: Tokens): number {
  const { words, unit, speedUnit, voltageUnit } = token
  const has = (set: ReadonlySet<string>): boolean => words.some((word) => set.has(word))
  if (unit !== null || voltageUnit !== null || has(NOT_SPEED_WORDS)) return 0
  const motor = has(MOTOR_WORDS)
  const plain = has(PLAIN_TURN_WORDS)
  const hertz = speedUnit !== null || words.includes('hz')
  // "speed 1" may be of the air, "motor 1 [Hz]" the rate of its signal; both together can only be this.
  if (!plain && !(motor && (has(TURN_SPEED_WORDS) || hertz)) && !(has(WEAK_MOTOR_WORDS) && speedUnit))
    return 0
  return (plain ? 2 : 1) + (motor ? 1 : 0) + (speedUnit ? 1 : 0) - (has(LESSER_WORDS) ? 0.5 : 0)
}

function speedUnit(
  header: UnitId | null,
  electrical: boolean,
  peak: number,
  sample: Sample,
  columns: readonly number[],
): FoundUnit | null {
  const words = columns.flatMap((column) => sample.tokens[column]?.words ?? [])
  const named = header ?? (words.includes('hz') || words.includes('rps') ? 'revps' : null)
  const range = `values up to ${said(peak)}`
  if (named) {
    const unit = electrical ? (ELECTRICAL_TWIN[named] ?? named) : named
    const fast = peak * UNITS[unit].scale
    if (!isElectrical(unit) && fast > FASTEST_RPM) {
      const twin = ELECTRICAL_TWIN[unit] ?? unit
      return {
        unit: twin,
        sure: 'guess',
        why: `${range} are faster than rotors turn: taken as electrical, pole pairs and all`,
      }
    }
    return { unit, sure: 'certain', why: 'the unit stands in the header' }
  }
  if (!(peak > 0)) return { unit: electrical ? 'erpm' : 'rpm', sure: 'guess', why: 'the motors never turned' }
  if (electrical) {
    // A motor that flies counts thousands of electrical turns a minute.
    return peak < 6 * SLOWEST_FLOWN_RPM
      ? {
          unit: 'erpm100',
          sure: 'likely',
          why: `${range} are hundreds: electrical turns of a flown motor are more`,
        }
      : { unit: 'erpm', sure: 'likely', why: `${range} fit electrical rpm` }
  }
  const saysRpm = words.includes('rpm')
  if (peak > FASTEST_RPM)
    return {
      unit: 'erpm',
      sure: 'guess',
      why: `${range} are faster than rotors turn: taken as electrical, pole pairs and all`,
    }
  if (peak >= SLOWEST_FLOWN_RPM)
    return { unit: 'rpm', sure: saysRpm ? 'likely' : 'guess', why: `${range} fit rpm` }
  if (saysRpm)
    return { unit: 'rpm100', sure: 'guess', why: `${range} are too slow to fly: taken as hundreds` }
  return { unit: 'revps', sure: 'guess', why: `${range} fit turns a second` }
}

const ELECTRICAL_TWIN: Partial<Record<UnitId, UnitId>> = { rpm: 'erpm', rpm100: 'erpm100', revps: 'erevps' }

/** A rotor turns faster on a larger command. */
function goesWith(
  sample: Sample,
  commands: readonly Assignment[],
  number: number,
  column: number,
): { readonly why: string; readonly against: boolean } {
  const command =
    commands.find(({ role }) => role === `motor.${number}`) ??
    commands.find(({ role }) => role === 'throttle')
  const cause = sample.thinned(command?.column)
  const answer = sample.thinned(column)
  if (!command || !cause || !answer) return { why: '', against: false }
  const relation = relate(cause, answer, sample.windowRows, Math.ceil(sample.maxLagRows / 2))
  if (!relation) return { why: '', against: false }
  const words = `(correlation ${relation.r.toFixed(2)})`
  if (relation.r > 0.4) return { why: `it rises with “${command.name}” ${words}`, against: false }
  return { why: `but it does not rise with “${command.name}” ${words}`, against: true }
}

const said = (value: number): string => String(Number(value.toPrecision(4)))
