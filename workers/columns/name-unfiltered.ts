import { AXES } from '../flight/axes.ts'
import { UNITS, type UnitId } from '../units/units.ts'
import type { AxisFamily } from './families.ts'
import { chooseRates, relateFamilies, type FamilyScores, type RatePair } from './name-rates.ts'
import type { Assignment, Sureness } from './roles.ts'
import type { Sample } from './sample.ts'
import { BEFORE_WORDS, FILTERED_WORDS, UNFILTERED_WORDS } from './vocabulary.ts'

/** "raw", "unfiltered", "before filter". */
export function saysUnfiltered(base: readonly string[]): boolean {
  if (base.some((word) => UNFILTERED_WORDS.has(word))) return true
  return base.some((word) => FILTERED_WORDS.has(word)) && base.some((word) => BEFORE_WORDS.has(word))
}

const saysFiltered = (base: readonly string[]): boolean =>
  base.some((word) => FILTERED_WORDS.has(word)) && !saysUnfiltered(base)

/** Least mean correlation between a gyro and what is to be the same before its filters. */
const SAME = 0.6

/** Two gyros of one log, when one moves just as the other. */
const TWIN = 0.8

/**
 * Chooses gyro and setpoint, and rather the filtered gyro: where the words alone led to an unfiltered one ("raw gyro"
 * beside "rate"), a plainly named one that moves as it does takes its place.
 */
export function chooseFiltered(scores: readonly FamilyScores[], sample: Sample): RatePair {
  const first = chooseRates(scores, sample)
  const { gyro } = first
  if (!gyro || !saysUnfiltered(gyro.base)) return first
  const others = scores.map((score) => (saysUnfiltered(score.family.base) ? { ...score, gyro: 0 } : score))
  const second = chooseRates(others, sample)
  if (!second.gyro || second.gyro === first.setpoint) return first
  const relations = Object.values(relateFamilies(gyro, second.gyro, sample))
  const strength = relations.reduce((sum, { r }) => sum + r, 0) / relations.length
  return relations.length > 0 && strength > TWIN ? second : first
}

interface Found {
  readonly family: AxisFamily
  readonly why: string
  readonly sure: Sureness
  readonly ratio: number | null
}

/**
 * The same gyro before its filters: another family of turning rates that is named so, or whose name is the gyro's own
 * without the word for its filter. It must move as the gyro does, so that another sensor's rates do not count.
 */
function findUnfiltered(gyro: AxisFamily, scores: readonly FamilyScores[], sample: Sample): Found | null {
  const own = new Set(Object.values(gyro.columns))
  let best: (Found & { score: number }) | null = null
  for (const { family, gyro: score } of scores) {
    if (score <= 1 || Object.values(family.columns).some((column) => own.has(column))) continue
    const named = saysUnfiltered(family.base)
    const bare =
      saysFiltered(gyro.base) && !saysFiltered(family.base) && sameButFilter(gyro.base, family.base)
    if (!named && !bare) continue
    const relations = Object.values(relateFamilies(family, gyro, sample))
    const strength =
      relations.length > 0 ? relations.reduce((sum, { r }) => sum + Math.abs(r), 0) / relations.length : null
    if (strength !== null && strength < SAME) continue
    const rank = score + (named ? 1 : 0)
    if (best && rank <= best.score) continue
    const ratios = relations.map(({ ratio }) => ratio).sort((a, b) => a - b)
    best = {
      family,
      score: rank,
      ratio: ratios[ratios.length >> 1] ?? null,
      sure: named ? 'certain' : 'likely',
      why: named
        ? `names the gyro before its filters`
        : `stands beside a filtered one of the same name: the gyro before its filters`,
    }
  }
  return best
}

function sameButFilter(filtered: readonly string[], other: readonly string[]): boolean {
  const bare = (base: readonly string[]) => base.filter((word) => !FILTERED_WORDS.has(word)).join(' ')
  return bare(filtered) === bare(other)
}

/** Assigns the unfiltered gyro, when there is one beside the gyro of these assignments. */
export function nameUnfiltered(
  gyro: AxisFamily | null,
  scores: readonly FamilyScores[],
  rates: readonly Assignment[],
  sample: Sample,
): Assignment[] {
  const found = gyro && findUnfiltered(gyro, scores, sample)
  if (!found) return []
  return AXES.flatMap((axis): Assignment[] => {
    const column = found.family.columns[axis]
    const filtered = rates.find(({ role }) => role === `gyro.${axis}`)
    if (column === undefined || !filtered) return []
    const name = sample.names[column] ?? ''
    const header = sample.tokens[column]?.unit ?? null
    const unit = unitBeside(header, filtered.unit, found.ratio)
    const sure: Sureness =
      unit.sure === 'guess'
        ? 'guess'
        : found.sure === 'certain' && filtered.sure === 'certain'
          ? unit.sure
          : 'likely'
    return [
      {
        role: `unfiltered.${axis}`,
        column,
        name,
        unit: unit.unit,
        sign: filtered.sign,
        sure: filtered.sure === 'guess' ? 'guess' : sure,
        setBy: 'program',
        how: `“${name}” ${found.why} on ${axis}; ${unit.why}.`,
      },
    ]
  })
}

/** @param ratio how far the gyro moves against it, in the file's numbers */
function unitBeside(
  header: UnitId | null,
  gyro: UnitId,
  ratio: number | null,
): { unit: UnitId; sure: Sureness; why: string } {
  if (header && (UNITS[header].quantity as readonly string[]).includes('rate'))
    return { unit: header, sure: 'certain', why: 'the unit stands in the header' }
  if (ratio === null) return { unit: gyro, sure: 'likely', why: 'the unit is taken from the gyro' }
  for (const unit of [gyro, 'dps', 'radps', 'mradps', 'ddps', 'cdps'] as const) {
    const off = Math.log((ratio * UNITS[gyro].scale) / UNITS[unit].scale)
    if (Math.abs(off) < Math.log(1.4))
      return { unit, sure: 'likely', why: `${UNITS[unit].label} because it then moves as far as the gyro` }
  }
  return { unit: gyro, sure: 'guess', why: 'the unit is taken from the gyro, though it moves otherwise' }
}
