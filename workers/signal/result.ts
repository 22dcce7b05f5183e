/**
 * The one form in which analyses hand over what they found, so that views, the report and the picture print the
 * same: a value with its unit, how it was computed, from how much, how sure, with what cautions - or why not.
 */

/** How a result was computed. The version goes up whenever the same input would give another number. */
export interface Method {
  /** Short and stable, e.g. 'step-wiener'. */
  readonly id: string
  readonly version: number
}

/** What was not used, and why. */
export interface Exclusion {
  /** In plain words, e.g. 'motors at their limit'. */
  readonly what: string
  /** Share of the samples of the span, 0..1. */
  readonly share: number
}

/** What a result stands on. */
export interface Basis {
  readonly method: Method
  /** Samples that took part. */
  readonly samples: number
  /** Segments averaged; null where the method has none. */
  readonly segments: number | null
  /** Plain sentences to be shown beside the value. */
  readonly cautions: readonly string[]
  readonly exclusions: readonly Exclusion[]
}

/** What an interval allows for. Bias is never part of a sampling error. */
export type Covers = 'sampling error only' | 'sampling error and estimated bias'

/** A range that holds the truth with this probability, as far as `covers` goes. */
export interface Interval<T> {
  readonly low: T
  readonly high: T
  /** E.g. 0.95. */
  readonly coverage: number
  readonly covers: Covers
}

/** A value: a number, or a curve's values (then low and high of the interval are curves of the same length). */
export interface Given<T> extends Basis {
  readonly kind: 'given'
  readonly value: T
  /** Of the value and the interval, e.g. 'ms', 'deg/s', '1'. */
  readonly unit: string
  readonly interval: Interval<T> | null
}

/** No value, and the reason in one plain sentence. */
export interface Refused extends Basis {
  readonly kind: 'refused'
  readonly reason: string
}

export type Result<T> = Given<T> | Refused

/** Puts a value together; leave out what does not apply. */
export function given<T>(
  value: T,
  unit: string,
  basis: Partial<Basis> & Pick<Basis, 'method'>,
  interval: Interval<T> | null = null,
): Given<T> {
  return { kind: 'given', value, unit, interval, ...completed(basis) }
}

/** Puts a refusal together. */
export function refused(reason: string, basis: Partial<Basis> & Pick<Basis, 'method'>): Refused {
  return { kind: 'refused', reason, ...completed(basis) }
}

function completed(basis: Partial<Basis> & Pick<Basis, 'method'>): Basis {
  return {
    method: basis.method,
    samples: basis.samples ?? 0,
    segments: basis.segments ?? null,
    cautions: basis.cautions ?? [],
    exclusions: basis.exclusions ?? [],
  }
}

/** The same basis with more cautions; each sentence once. */
export function withCautions<T extends Basis>(result: T, cautions: readonly string[]): T {
  return { ...result, cautions: [...new Set([...result.cautions, ...cautions])] }
}
