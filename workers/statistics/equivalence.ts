import { studentCdf } from './distributions.ts'

export interface Equivalence {
  /** t of the bound that is nearer to being broken, its degrees of freedom and one-sided p. */
  readonly t: number
  readonly dof: number
  readonly p: number
}

/** What is known of a group of values. */
export interface Summary {
  readonly mean: number
  readonly sd: number
  readonly n: number
}

/**
 * Two one-sided tests (Schuirmann 1987 [from memory]) that the means of two groups differ by less than `delta`, with Welch's
 * standard error. Small p: no difference that matters.
 */
export function equivalentMeans(a: Summary, b: Summary, delta: number): Equivalence {
  const varianceA = a.sd ** 2 / a.n
  const varianceB = b.sd ** 2 / b.n
  const error = Math.sqrt(varianceA + varianceB)
  const dof = (varianceA + varianceB) ** 2 / (varianceA ** 2 / (a.n - 1) + varianceB ** 2 / (b.n - 1))
  return oneSided(a.mean - b.mean, error, dof, delta)
}

/** The same for one estimate with its standard error. */
export function oneSided(difference: number, error: number, dof: number, delta: number): Equivalence {
  if (!(delta > 0)) throw new Error(`delta must be positive: ${delta}`)
  const lower = (difference + delta) / error
  const upper = (difference - delta) / error
  const pLower = 1 - studentCdf(lower, dof)
  const pUpper = studentCdf(upper, dof)
  return pLower > pUpper ? { t: lower, dof, p: pLower } : { t: upper, dof, p: pUpper }
}

/** d = 0.5 in units of sqrt((sdA^2 + sdB^2)/2): a bound given in standard deviations, as a difference of means. */
export function rawBound(d: number, a: Summary, b: Summary): number {
  return d * Math.sqrt(0.5 * (a.sd ** 2 + b.sd ** 2))
}
