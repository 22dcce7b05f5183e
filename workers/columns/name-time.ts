import type { UnitId } from '../units/units.ts'
import { stepsOf } from './evidence.ts'
import type { Assignment, Sureness } from './roles.ts'
import type { Tokens } from './tokens.ts'
import { COUNTER_WORDS, TIME_WORDS } from './vocabulary.ts'

const TIME_UNITS: readonly (readonly [UnitId, number])[] = [
  ['s', 1],
  ['ms', 1e-3],
  ['us', 1e-6],
  ['ns', 1e-9],
]
/** A flight log's usual rate; a unit is judged by how near to it the rate comes. Common practice, no source. */
const USUAL_RATE_HZ = 700

/**
 * Finds the clock: a column that rises all along, named so or, failing that, standing where clocks stand.
 * @param stampUnits units of columns that hold dates or times as such
 */
export function nameTime(
  names: readonly string[],
  tokens: readonly Tokens[],
  columns: readonly (Float64Array | null)[],
  stampUnits: ReadonlyMap<number, UnitId> = new Map(),
): Assignment | null {
  let best: { column: number; score: number; word: string | null; still: number } | null = null
  columns.forEach((values, column) => {
    const token = tokens[column]
    if (!values || !token) return
    const { rising, still } = stepsOf(values)
    if (rising < 0.9 || rising === still) return
    const word = token.words.find((candidate) => TIME_WORDS.has(candidate)) ?? null
    const timeUnit =
      stampUnits.has(column) || (token.unit !== null && TIME_UNITS.some(([unit]) => unit === token.unit))
    const counter = token.words.some((candidate) => COUNTER_WORDS.has(candidate))
    let score = (word ? 4 : 0) + (timeUnit ? 3 : 0) - (counter && !word ? 4 : 0) + rising - still
    if (token.words.length > 2) score -= 0.5
    if (column === 0) score += 0.75
    if (!word && !timeUnit && rising < 0.999) return
    if (best && score <= best.score) return
    best = { column, score, word: word ?? (timeUnit ? names[column]! : null), still }
  })
  // Assigned inside a callback, which the compiler does not follow.
  const found = best as { column: number; score: number; word: string | null } | null
  if (!found || found.score < 0.75) return null
  const { column, word } = found
  const token = tokens[column]
  const stamps = stampUnits.get(column)
  const named = stamps ?? TIME_UNITS.find(([unit]) => unit === token?.unit)?.[0]
  const { median } = stepsOf(columns[column] as Float64Array)
  const unit = named ?? likelyTimeUnit(median)
  const sure: Sureness = word ? (named ? 'certain' : 'likely') : 'guess'
  const why = stamps
    ? `“${names[column]}” holds dates or times and rises all along`
    : word
      ? `“${names[column]}” names a clock and rises all along`
      : 'it rises all along as a clock does'
  const unitWhy = stamps
    ? 'they are exact in the file'
    : named
      ? 'the unit stands in the header'
      : `steps of ${plain(median)} fit ${unit} best`
  return {
    role: 'time',
    column,
    name: names[column] ?? '',
    unit,
    sign: 1,
    sure,
    setBy: 'program',
    how: `${capital(why)}; ${unitWhy}.`,
  }
}

function likelyTimeUnit(step: number): UnitId {
  let best: UnitId = 's'
  let distance = Infinity
  for (const [unit, scale] of TIME_UNITS) {
    const off = Math.abs(Math.log(1 / (step * scale) / USUAL_RATE_HZ))
    if (off < distance) [best, distance] = [unit, off]
  }
  return best
}

const plain = (value: number): string => String(Number(value.toPrecision(4)))
const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1)
