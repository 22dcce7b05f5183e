import type { Inspection, ReadLog } from '../../workers/log/log.ts'
import { isProblem, Problem, type Place, type ProblemCode } from '../../workers/log/problems.ts'
import type { Progress, ReadOrder } from './read-whole.ts'

/** What the intake worker is sent: one job at a time. */
export type Job =
  | { readonly kind: 'inspect'; readonly path: string; readonly fileName: string }
  | ({ readonly kind: 'read' } & ReadOrder)
  | { readonly kind: 'hash'; readonly path: string; readonly fileName: string }

/** What comes back from the worker. */
export type Report =
  | ({ readonly kind: 'progress' } & Progress)
  | { readonly kind: 'result'; readonly result: Inspection | ReadLog | string }
  | { readonly kind: 'problem'; readonly code: ProblemCode; readonly message: string; readonly place: Place }
  | { readonly kind: 'error'; readonly message: string; readonly stack: string }

/** A thrown value as a message: classes do not survive the way between threads. */
export function reportOf(cause: unknown): Report {
  if (isProblem(cause))
    return { kind: 'problem', code: cause.code, message: cause.message, place: cause.place }
  const error = cause instanceof Error ? cause : new Error(String(cause))
  return { kind: 'error', message: error.message, stack: error.stack ?? '' }
}

/** The thrown value that such a message stands for. */
export function thrownBy(report: Report & { kind: 'problem' | 'error' }): Error {
  if (report.kind === 'problem') return new Problem(report.code, report.message, report.place)
  const error = new Error(report.message)
  error.stack = report.stack
  return error
}
