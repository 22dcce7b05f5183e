import { KIND_WORDS } from './role-words.ts'
import { AXES } from '../flight/axes.ts'
import { derivative, relate } from './evidence.ts'
import type { AxisFamily } from './families.ts'
import { TERMS, type Assignment, type Sureness, type Term } from './roles.ts'
import type { Sample } from './sample.ts'
import {
  LESSER_WORDS,
  NOT_TERM_WORDS,
  SETPOINT_WORDS,
  STICK_WORDS,
  TERM_COMPANY,
  TERM_LETTERS,
  TERM_WORDS,
  THROTTLE_WORDS,
} from './vocabulary.ts'

/** Columns that hold one part of the controller's demand. */
export interface TermFamily {
  readonly term: Term
  readonly family: AxisFamily
  /** Named by a whole word, or by a letter in company of "term" or "pid"; else by letters that stand side by side. */
  readonly by: 'word' | 'letter' | 'row of letters'
}

/**
 * Finds P-, I-, D-term and feed-forward by their words. A mere letter counts beside a word such as "term" or "pid", or
 * where at least two of the letters p, i and d stand side by side in names that are otherwise the same.
 */
export function findTerms(families: readonly AxisFamily[]): TermFamily[] {
  const candidates = families.flatMap((family) => candidateOf(family) ?? [])
  const rows = new Map<string, Set<Term>>()
  for (const { term, family, rest } of candidates) {
    const key = `${family.alphabet} ${rest}`
    rows.set(key, (rows.get(key) ?? new Set()).add(term))
  }
  const found = candidates.flatMap(({ term, family, rest, by }): (TermFamily & { score: number })[] => {
    const beside = rows.get(`${family.alphabet} ${rest}`) ?? new Set()
    const inRow = beside.size >= 2 && (beside.has('dTerm') || beside.has('iTerm'))
    if (by === null && !inRow) return []
    const lesser = family.base.some((word) => LESSER_WORDS.has(word)) ? 1 : 0
    const score = (by === 'word' ? 3 : by === 'letter' ? 2 : 1) + Object.keys(family.columns).length
    return [{ term, family, by: by ?? 'row of letters', score: score - lesser - 0.05 * family.base.length }]
  })
  return TERMS.flatMap((term) => {
    const best = found.filter((one) => one.term === term).sort((a, b) => b.score - a.score)[0]
    return best ? [{ term, family: best.family, by: best.by }] : []
  })
}

interface Candidate {
  readonly term: Term
  readonly family: AxisFamily
  /** The words beside the letter. */
  readonly rest: string
  readonly by: 'word' | 'letter' | null
}

function candidateOf(family: AxisFamily): Candidate | null {
  const { base } = family
  const has = (set: ReadonlySet<string>): boolean => base.some((word) => set.has(word))
  if (has(NOT_TERM_WORDS) || has(STICK_WORDS) || has(THROTTLE_WORDS)) return null
  for (const term of TERMS) {
    const rest = base.filter((word) => !TERM_WORDS[term].has(word))
    if (rest.length < base.length) return { term, family, rest: rest.join(' '), by: 'word' }
  }
  const forward = base.findIndex((word, index) => word === 'feed' && base[index + 1] === 'forward')
  if (forward >= 0)
    return { term: 'feedForward', family, rest: base.toSpliced(forward, 2).join(' '), by: 'word' }
  if (has(SETPOINT_WORDS)) return null
  const letters = TERMS.filter((term) => base.includes(TERM_LETTERS[term]))
  const term = letters[0]
  if (term === undefined || letters.length > 1) return null
  const rest = base.filter((word) => word !== TERM_LETTERS[term])
  return { term, family, rest: rest.join(' '), by: has(TERM_COMPANY) ? 'letter' : null }
}

/**
 * Assigns the terms. Where gyro and setpoint are known, the numbers are asked, too: P goes with their difference, the
 * slope of I with it, D with the gyro's slope.
 */
export function nameTerms(
  terms: readonly TermFamily[],
  rates: readonly Assignment[],
  sample: Sample,
): Assignment[] {
  return terms.flatMap(({ term, family, by }) =>
    AXES.flatMap((axis): Assignment[] => {
      const column = family.columns[axis]
      if (column === undefined) return []
      const name = sample.names[column] ?? ''
      const unit = sample.tokens[column]?.unit === 'percent' ? 'termPercent' : 'own'
      const seen = confirmed(term, axis, column, rates, sample)
      const sure: Sureness =
        by === 'row of letters' ? (seen ? 'likely' : 'guess') : seen ? 'certain' : 'likely'
      const parts = [
        `“${name}” names the ${KIND_WORDS[term]} of ${axis}`,
        by === 'row of letters' ? 'by its letter among p, i and d' : '',
        seen,
        unit === 'own' ? 'its scale is taken as logged' : 'the unit stands in the header',
      ]
      return [
        {
          role: `${term}.${axis}`,
          column,
          name,
          unit,
          sign: 1,
          sure,
          setBy: 'program',
          how: `${parts.filter((part) => part !== '').join('; ')}.`,
        },
      ]
    }),
  )
}

/** Least correlation by which the numbers confirm a name. */
const CONFIRMS = 0.5

function confirmed(
  term: Term,
  axis: (typeof AXES)[number],
  column: number,
  rates: readonly Assignment[],
  sample: Sample,
): string {
  const { time_s } = sample
  const own = sample.thinned(column)
  const series = (kind: 'gyro' | 'setpoint') => {
    const rate = rates.find(({ role }) => role === `${kind}.${axis}`)
    const values = sample.thinned(rate?.column)
    return rate && values ? values.map((value) => value * rate.sign) : null
  }
  const gyro = series('gyro')
  const setpoint = series('setpoint')
  if (!own || !time_s || !gyro) return ''
  const near = Math.ceil(sample.maxLagRows / 8)
  const said = (cause: Float64Array, answer: Float64Array, words: string): string => {
    const relation = relate(cause, answer, sample.windowRows, near)
    const r = relation?.r ?? 0
    return Math.abs(r) > CONFIRMS ? `it goes with ${words} (correlation ${r.toFixed(2)})` : ''
  }
  if (term === 'dTerm') return said(derivative(gyro, time_s, Infinity), own, 'the slope of the gyro')
  if (!setpoint) return ''
  if (term === 'feedForward')
    return said(derivative(setpoint, time_s, Infinity), own, 'the slope of the setpoint')
  // Units of the two may differ; the log's own difference counts only where they are the same.
  const units = (['gyro', 'setpoint'] as const).map(
    (kind) => rates.find(({ role }) => role === `${kind}.${axis}`)?.unit,
  )
  if (units[0] !== units[1]) return ''
  const error = setpoint.map((value, row) => value - (gyro[row] as number))
  return term === 'pTerm'
    ? said(error, own, 'setpoint minus gyro')
    : said(error, derivative(own, time_s, Infinity), 'setpoint minus gyro by its slope')
}
