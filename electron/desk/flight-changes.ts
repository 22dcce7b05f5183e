import { faultInAssignments } from '../../workers/columns/check-assignments.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { Problem } from '../../workers/log/problems.ts'
import { partOf } from '../library/judge-log.ts'
import type { Library } from '../library/library.ts'
import { runSurvey } from '../library/run-survey.ts'
import type { SurveyedPart } from '../library/survey.ts'

/** A part of a log as the pilot gives it, seconds since the log's first stamp. */
export interface Span {
  readonly t0_s: number
  readonly t1_s: number
}

/** Changes to flights that need another look at their samples. */
export class FlightChanges {
  readonly #library: Library

  constructor(library: Library) {
    this.#library = library
  }

  /**
   * Puts the columns' meanings right for all flights of a log; clock, health and picture follow.
   * @throws Problem bad-request for meanings that can't stand, not-found
   */
  async assign(flightId: number, assignments: readonly Assignment[], now_ms: number): Promise<void> {
    const { log, columnFile, fileNotices, flights } = this.#library.logOf(flightId)
    const fault = faultInAssignments(assignments, log.columns)
    if (fault) throw new Problem('bad-request', fault)
    const surveyed = await runSurvey({
      columnFile,
      layout: log.layout,
      assignments,
      parts: flights.map(({ rows }) => rows ?? { from: 0, to: log.rows }),
    })
    const parts = flights.map(({ id, rows }, index) => {
      return [id, partOf(surveyed[index] as SurveyedPart, fileNotices, '', rows === null)] as const
    })
    this.#library.assign(new Map(parts), assignments, now_ms)
  }

  /** Makes a flight another part of its log; null makes it the whole. @throws Problem bad-request, not-found */
  async cut(flightId: number, span: Span | null): Promise<void> {
    this.#library.setPart(flightId, await this.#part(flightId, span))
  }

  /** Adds a part of a flight's log as a flight of its own. Returns its id. @throws Problem bad-request, not-found */
  async split(flightId: number, span: Span): Promise<number> {
    return this.#library.addPart(flightId, await this.#part(flightId, span))
  }

  async #part(flightId: number, span: Span | null) {
    const { log, columnFile, fileNotices, assignments } = this.#library.logOf(flightId)
    const [surveyed] = await runSurvey({
      columnFile,
      layout: log.layout,
      assignments,
      parts: [span ?? { from: 0, to: log.rows }],
    })
    if (!surveyed) throw new Error('a survey of one part gave none')
    const suffix = span ? `, ${span.t0_s.toFixed(1)} s to ${span.t1_s.toFixed(1)} s` : ''
    return partOf(surveyed, fileNotices, suffix, span === null)
  }
}
