import { UNITS, type UnitId } from '../units/units.ts'
import { sizeOf } from './evidence.ts'
import type { Assignment, Sureness } from './roles.ts'
import type { Sample } from './sample.ts'
import type { Tokens } from './tokens.ts'
import { BATTERY_WORDS, LESSER_WORDS, NOT_BATTERY_WORDS, VOLTAGE_WORDS } from './vocabulary.ts'

/** One almost empty cell and sixteen full ones. Common practice, no source. */
const LEAST_V = 2.5
const MOST_V = 70

/** Finds the flight battery's voltage: named so, of a size that a battery has in the header's or a likely unit. */
export function nameBattery(sample: Sample): Assignment | null {
  let best: { column: number; score: number; unit: UnitId; sure: Sureness; why: string } | null = null
  sample.tokens.forEach((tokens, column) => {
    const values = sample.columns[column]
    const score = scoreOf(tokens)
    if (!values || score <= 0 || (best && score <= best.score)) return
    const { max, min } = sizeOf(values)
    const unit = tokens.voltageUnit ?? likelyUnit(max)
    if (unit === null || !isBattery(max * UNITS[unit].scale)) return
    const why = `values from ${said(min)} to ${said(max)} fit ${UNITS[unit].label} best`
    best = tokens.voltageUnit
      ? { column, score, unit, sure: 'certain', why: 'the unit stands in the header' }
      : { column, score, unit, sure: unit === 'volt' ? 'likely' : 'guess', why }
  })
  // Assigned inside a callback, which the compiler does not follow.
  const found = best as { column: number; unit: UnitId; sure: Sureness; why: string } | null
  if (!found) return null
  const { column, unit, sure, why } = found
  const name = sample.names[column] ?? ''
  const how = `“${name}” names the battery’s voltage; ${why}.`
  return { role: 'battery', column, name, unit, sign: 1, sure, setBy: 'program', how }
}

function scoreOf({ words, unit, voltageUnit }: Tokens): number {
  const has = (set: ReadonlySet<string>): boolean => words.some((word) => set.has(word))
  if (unit !== null || has(NOT_BATTERY_WORDS)) return 0
  const voltage = has(VOLTAGE_WORDS)
  const battery = has(BATTERY_WORDS)
  // A battery's column without a word or unit of voltage may be anything about it; a mere "v" is none of it.
  if (!voltage && !(battery && voltageUnit)) return 0
  return (voltage ? 2 : 0) + (voltageUnit ? 1.5 : 0) + (battery ? 2 : 0) - (has(LESSER_WORDS) ? 0.5 : 0)
}

/** By the largest value. 0.1 V and 0.01 V overlap: the smaller battery is the likelier. */
function likelyUnit(max: number): UnitId | null {
  if (max <= MOST_V) return 'volt'
  if (max <= 300) return 'decivolt'
  if (max <= 3000) return 'centivolt'
  return max <= 1000 * MOST_V ? 'millivolt' : null
}

const isBattery = (volts: number): boolean => volts >= LEAST_V && volts <= MOST_V
const said = (value: number): string => String(Number(value.toPrecision(4)))
