import { describeClock, mend } from '../../workers/clock/clock.ts'
import { applyAssignment, canonicalTime } from '../../workers/columns/apply-assignment.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { StripGatherer } from '../../workers/flight/activity-strip.ts'
import { findFlights } from '../../workers/flight/find-flights.ts'
import { clockNotices, missingNotices } from '../../workers/health/health.ts'
import { SignalHealth } from '../../workers/health/signal-health.ts'
import type { ClockReport, ColumnFileLayout, FlightSpan, Glance, Notice } from '../../workers/log/log.ts'
import { ColumnReader } from './column-file.ts'
import { ClueGatherer } from './flight-clues.ts'

/** What the stored columns show once they have meanings. */
export interface Judged {
  readonly clock: ClockReport
  readonly restarts: readonly number[]
  readonly flights: readonly FlightSpan[]
  readonly notices: readonly Notice[]
  readonly glance: Glance
}

/**
 * Looks at each assigned column of a column file once: clock, health, flights, activity.
 * @param headRestarts rows before which the header stood again
 * @param stop called between columns; throws to end the work
 */
export async function judge(
  path: string,
  layout: ColumnFileLayout,
  assignments: readonly Assignment[],
  headRestarts: readonly number[],
  stop: () => void,
): Promise<Judged> {
  const time = assignments.find((assignment) => assignment.role === 'time')
  if (!time) throw new Error('a log is judged by its clock, and there is none')
  const reader = await ColumnReader.open(path, layout)
  try {
    // One piece of memory for all columns, one after another.
    let memory = new ArrayBuffer(8 * layout.rows)
    const raw = await reader.values(time.column, memory)
    const mended = mend(canonicalTime(raw, time, new Float64Array(memory)))
    // The stamps as read are no longer needed: their memory serves for sorting.
    const clock = describeClock(mended, new Float64Array(memory))
    const health = new SignalHealth(mended.time_s, clock.effectiveRate_hz)
    const clues = new ClueGatherer()
    const strip = new StripGatherer(mended.time_s)
    const others = assignments.filter(({ role }) => role !== 'time')
    if (others.every(({ column }) => reader.width(column) === 4)) memory = memory.transfer(4 * layout.rows)
    for (const assignment of others) {
      stop()
      const stored = await reader.values(assignment.column, memory)
      const values = applyAssignment(stored, assignment, stored instanceof Float32Array ? stored : undefined)
      health.add(assignment, values)
      clues.add(assignment, values)
      strip.add(assignment.role, values)
    }
    const restarts = [...new Set([...headRestarts, ...mended.restarts])].sort((a, b) => a - b)
    const flights = findFlights(clues.clues(mended.time_s, restarts, 1 / clock.nominalRate_hz))
    const at_s = (row: number): number => (mended.time_s[row] as number) - (mended.time_s[0] as number)
    return {
      clock,
      restarts,
      flights,
      glance: {
        activity: strip.strip(),
        flightTimes: flights.map(({ from, to }) => ({ t0_s: at_s(from), t1_s: at_s(to - 1) })),
      },
      notices: [...clockNotices(clock), ...missingNotices(assignments), ...health.notices()],
    }
  } finally {
    await reader.close()
  }
}
