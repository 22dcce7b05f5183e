import { describeClock, mend } from '../../workers/clock/clock.ts'
import { applyAssignment, canonicalTime } from '../../workers/columns/apply-assignment.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { StripGatherer, type ActivityStrip } from '../../workers/flight/activity-strip.ts'
import { clockNotices, missingNotices } from '../../workers/health/health.ts'
import { SignalHealth } from '../../workers/health/signal-health.ts'
import type { ClockReport, ColumnFileLayout, Notice } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { ColumnReader } from '../intake/column-file.ts'
import { checkClockRuns } from './running-clock.ts'

/** Rows [from, to) of a log. */
export interface RowRange {
  readonly from: number
  readonly to: number
}

/** A part of a log: by its rows, or by times on the log's mended clock since its first stamp. */
export type PartWanted = RowRange | { readonly t0_s: number; readonly t1_s: number }

/** What is to be looked at, and by which meanings of the columns. */
export interface SurveyOrder {
  readonly columnFile: string
  readonly layout: ColumnFileLayout
  readonly assignments: readonly Assignment[]
  readonly parts: readonly PartWanted[]
}

/** One part of a log: when it is, what it looks like, what is wrong with it. */
export interface SurveyedPart {
  readonly rows: RowRange
  /** Of the first and the last row, on the log's mended clock since its first stamp. */
  readonly span: { readonly t0_s: number; readonly t1_s: number }
  readonly activity: ActivityStrip
  readonly clock: ClockReport
  readonly health: readonly Notice[]
}

const FEWEST_ROWS = 2

/**
 * Looks at each assigned column of a column file once, and says of each part of the log what `readLog` says of the
 * whole.
 * @throws Problem no-time when the clock stands still, bad-request for a part that holds no two rows, source-missing when the column file is gone
 */
export async function surveyParts(order: SurveyOrder): Promise<SurveyedPart[]> {
  const { columnFile, layout, assignments } = order
  const time = assignments.find((one) => one.role === 'time')
  if (!time) throw new Error('a log is surveyed by its clock, and there is none')
  const reader = await ColumnReader.open(columnFile, layout)
  try {
    const memory = new ArrayBuffer(8 * layout.rows)
    const stamps = canonicalTime(await reader.values(time.column, memory), time)
    const { time_s } = mend(stamps)
    checkClockRuns((time_s.at(-1) ?? 0) - (time_s[0] ?? 0), assignments)
    const parts = order.parts.map((wanted) => new Part(rowsOf(wanted, time_s), stamps, time_s))
    for (const assignment of assignments) {
      if (assignment.role === 'time') continue
      const stored = await reader.values(assignment.column, memory)
      const values = applyAssignment(stored, assignment, stored instanceof Float32Array ? stored : undefined)
      for (const part of parts) part.add(assignment, values)
    }
    return parts.map((part) => part.surveyed(assignments, time_s[0] ?? 0))
  } finally {
    await reader.close()
  }
}

class Part {
  readonly #rows: RowRange
  readonly #time_s: Float64Array
  readonly #clock: ClockReport
  readonly #health: SignalHealth
  readonly #strip: StripGatherer

  constructor(rows: RowRange, stamps_s: Float64Array, mended_s: Float64Array) {
    this.#rows = rows
    this.#time_s = mended_s.subarray(rows.from, rows.to)
    // Mended anew: what the clock did before and after is no concern of this part.
    this.#clock = describeClock(mend(stamps_s.subarray(rows.from, rows.to)))
    this.#health = new SignalHealth(this.#time_s, this.#clock.effectiveRate_hz)
    this.#strip = new StripGatherer(this.#time_s)
  }

  add(assignment: Assignment, values: Float32Array): void {
    const own = values.subarray(this.#rows.from, this.#rows.to)
    this.#health.add(assignment, own)
    this.#strip.add(assignment.role, own)
  }

  surveyed(assignments: readonly Assignment[], first_s: number): SurveyedPart {
    return {
      rows: this.#rows,
      span: {
        t0_s: (this.#time_s[0] as number) - first_s,
        t1_s: (this.#time_s.at(-1) as number) - first_s,
      },
      activity: this.#strip.strip(),
      clock: this.#clock,
      health: [...clockNotices(this.#clock), ...missingNotices(assignments), ...this.#health.notices()],
    }
  }
}

function rowsOf(part: PartWanted, mended_s: Float64Array): RowRange {
  const first_s = mended_s[0] ?? 0
  const rows =
    'from' in part
      ? part
      : {
          // A microsecond of grace: times that were shown and given back have lost their last digits.
          from: firstRowAt(mended_s, first_s + part.t0_s - 1e-6),
          to: firstRowAt(mended_s, first_s + part.t1_s + 1e-6),
        }
  if (rows.to - rows.from < FEWEST_ROWS) {
    throw new Problem('bad-request', 'That part of the log holds no two rows: choose a longer one.')
  }
  return rows
}

/** First row stamped at or after a time. */
function firstRowAt(mended_s: Float64Array, at_s: number): number {
  let low = 0
  let high = mended_s.length
  while (low < high) {
    const middle = (low + high) >> 1
    if ((mended_s[middle] as number) < at_s) low = middle + 1
    else high = middle
  }
  return low
}
