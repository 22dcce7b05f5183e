/**
 * Expected failures: a small closed set of codes, each with a plain sentence for the pilot.
 * Anything else that is thrown is a programmer's error and crashes.
 */
export const PROBLEM_CODES = [
  'empty-file',
  'not-text',
  'not-a-file',
  'cannot-read',
  'no-columns',
  'no-time',
  'bad-number',
  'bad-row',
  'too-short',
  'too-large',
  'bad-request',
  'not-found',
  'source-missing',
  'cancelled',
  'disk',
  'worker-died',
] as const
export type ProblemCode = (typeof PROBLEM_CODES)[number]

/** Where in a file a problem was found; line and column count from 1 as an editor shows them. */
export interface Place {
  readonly file?: string
  readonly line?: number
  /** The column's number and its name as in the header. */
  readonly column?: number
  readonly columnName?: string
}

/** A failure that the pilot can understand and act on. `message` is one plain sentence, place included. */
export class Problem extends Error {
  readonly code: ProblemCode
  readonly place: Place

  constructor(code: ProblemCode, message: string, place: Place = {}, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause })
    this.name = 'Problem'
    this.code = code
    this.place = place
  }
}

/** True for a Problem, also one that lost its class on the way through a worker's message. */
export function isProblem(value: unknown): value is Problem {
  return (
    value instanceof Error &&
    value.name === 'Problem' &&
    PROBLEM_CODES.includes((value as { code?: ProblemCode }).code as ProblemCode)
  )
}
