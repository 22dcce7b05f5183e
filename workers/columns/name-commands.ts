import { unitsFor, type UnitId } from '../units/units.ts'
import { sizeOf } from './evidence.ts'
import { MAX_MOTORS, type Assignment } from './roles.ts'
import { saysSpeed } from './name-speeds.ts'
import type { FoundUnit } from './rate-units.ts'
import type { Sample } from './sample.ts'
import {
  ACTUAL_WORDS,
  LESSER_WORDS,
  MOTOR_WORDS,
  NOT_COMMAND_WORDS,
  SETPOINT_WORDS,
  STICK_WORDS,
  THROTTLE_WORDS,
  WEAK_MOTOR_WORDS,
} from './vocabulary.ts'

/** The unit of a throttle or motor from the header or from the range of its values. */
export function commandUnit(
  header: UnitId | null,
  columns: readonly (Float64Array | null | undefined)[],
): FoundUnit {
  if (header && unitsFor('motor').some((unit) => unit.id === header)) {
    return { unit: header, sure: 'certain', why: 'the unit stands in the header' }
  }
  const sizes = columns.flatMap((column) => (column ? [sizeOf(column)] : [])).filter((size) => size.count > 0)
  const max = Math.max(...sizes.map((size) => size.max))
  const min = Math.min(...sizes.map((size) => size.min))
  const range = `${said(min)} to ${said(max)}`
  if (sizes.length === 0 || !(max > min)) {
    return { unit: 'share', sure: 'guess', why: 'it never changes, so that its range is unknown' }
  }
  const found = (unit: UnitId, label: string, sure: 'likely' | 'guess'): FoundUnit => ({
    unit,
    sure,
    why: `values from ${range} fit a range of ${label}`,
  })
  if (max <= 1.1) return found('share', '0..1', min >= -0.1 ? 'likely' : 'guess')
  if (max <= 110) return found('percent', '0..100 %', max > 20 ? 'likely' : 'guess')
  if (min >= 800 && max <= 2300) return found('pulseUs', '1000..2000 µs', 'likely')
  if (max <= 1050) return found('permille', '0..1000', max > 300 ? 'likely' : 'guess')
  if (max <= 2100) return found('bits11', '0..2047', 'likely')
  return found('bits16', '0..65535', max <= 65535.5 && max > 10000 ? 'likely' : 'guess')
}

/** Finds the throttle among columns named so; what was commanded goes before what was measured. */
export function nameThrottle(
  sample: Sample,
  extra: { column: number; why: string } | null,
): Assignment | null {
  let best: { column: number; score: number; why: string; moves: boolean } | null = null
  sample.tokens.forEach((token, column) => {
    const values = sample.columns[column]
    const word = token.words.find((candidate) => THROTTLE_WORDS.has(candidate))
    if (!word || !values || token.words.some((candidate) => NOT_COMMAND_WORDS.has(candidate))) return
    const has = (set: ReadonlySet<string>): boolean => token.words.some((candidate) => set.has(candidate))
    const { min, max } = sizeOf(values)
    const moves = max > min
    let score = has(SETPOINT_WORDS) ? 1.5 : has(STICK_WORDS) ? 1 : 0.5
    if (has(ACTUAL_WORDS)) score -= 1
    if (has(LESSER_WORDS)) score -= 0.5
    // An axis letter makes it one part of a force.
    if (token.words.some((candidate) => /^[xy]$/.test(candidate))) score -= 3
    if (!moves) score -= 2
    if (best && score <= best.score) return
    best = { column, score, moves, why: `“${sample.names[column]}” names the throttle` }
  })
  const found = best as { column: number; why: string; moves: boolean } | null
  const chosen = found ?? (extra ? { ...extra, moves: true } : null)
  if (!chosen) return null
  const { column, why, moves } = chosen
  const unit = commandUnit(sample.tokens[column]?.unit ?? null, [sample.columns[column]])
  return {
    role: 'throttle',
    column,
    name: sample.names[column] ?? '',
    unit: unit.unit,
    sign: 1,
    sure: found && moves ? unit.sure : 'guess',
    setBy: 'program',
    how: `${why}; ${unit.why}.`,
  }
}

interface MotorGroup {
  score: number
  /** Number in the name, column. */
  members: Map<number, number>
}

/** Where a motor sits, in the order in which they are then numbered. */
const PLACES = ['fl', 'fr', 'rl', 'rr', 'bl', 'br']

/** Finds the motors' commands: numbered columns, from 0 or 1, or named by the corner where they sit. */
export function nameMotors(sample: Sample): Assignment[] {
  const groups = new Map<string, MotorGroup>()
  sample.tokens.forEach((token, column) => {
    const values = sample.columns[column]
    if (!values || saysSpeed(token) || token.words.some((word) => NOT_COMMAND_WORDS.has(word))) return
    const strong = token.words.some((word) => MOTOR_WORDS.has(word))
    const weak = token.words.some((word) => WEAK_MOTOR_WORDS.has(word))
    if (!strong && !weak) return
    const position = token.words.findLastIndex((word) => /^\d{1,2}$/.test(word) || PLACES.includes(word))
    if (position < 0) return
    const word = token.words[position] as string
    const number = PLACES.includes(word) ? PLACES.indexOf(word) + 1 : Number(word)
    const base = token.words.filter((_, index) => index !== position)
    const key = JSON.stringify([position, base])
    let score = (strong ? 3 : 1.5) - 0.05 * base.length
    if (base.some((candidate) => SETPOINT_WORDS.has(candidate))) score += 0.25
    if (base.some((candidate) => LESSER_WORDS.has(candidate))) score -= 0.5
    const group = groups.get(key) ?? { score, members: new Map<number, number>() }
    if (!group.members.has(number)) group.members.set(number, column)
    groups.set(key, group)
  })
  const whole = [...groups.values()].filter(({ members }) => members.size >= 3 && members.size <= MAX_MOTORS)
  whole.sort((a, b) => b.score - a.score)
  const group = whole[0]
  if (!group) return []
  const numbers = [...group.members.keys()].sort((a, b) => a - b)
  const columns = numbers.map((number) => group.members.get(number) as number)
  const unit = commandUnit(
    sample.tokens[columns[0] as number]?.unit ?? null,
    columns.map((column) => sample.columns[column]),
  )
  const from = numbers[0] === 0 ? ', counted from 0 in the file' : ''
  return columns.map((column, index) => ({
    role: `motor.${index + 1}` as const,
    column,
    name: sample.names[column] ?? '',
    unit: unit.unit,
    sign: 1 as const,
    sure: unit.sure,
    setBy: 'program' as const,
    how: `“${sample.names[column]}” names motor ${index + 1}${from}; ${unit.why}.`,
  }))
}

const said = (value: number): string => String(Number(value.toPrecision(4)))
