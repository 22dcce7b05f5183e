import { describeClock, mend } from '../../workers/clock/clock.ts'
import { applyAssignment, canonicalTime } from '../../workers/columns/apply-assignment.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { StripGatherer } from '../../workers/flight/activity-strip.ts'
import { clueWindows, findFlightsIn } from '../../workers/flight/find-flights.ts'
import { clockNotices, missingNotices } from '../../workers/health/health.ts'
import { SignalHealth } from '../../workers/health/signal-health.ts'
import type { ClockReport, ColumnFileLayout, FlightSpan, Glance, Notice } from '../../workers/log/log.ts'
import { ColumnReader } from './column-file.ts'
import { ClueGatherer } from './flight-clues.ts'
import { Parts } from './work-memory.ts'

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
 * @param work memory to work in; what stands in it is void
 * @param stop called between columns; throws to end the work
 */
export async function judge(
  path: string,
  layout: ColumnFileLayout,
  assignments: readonly Assignment[],
  headRestarts: readonly number[],
  work: WebAssembly.Memory,
  stop: () => void,
): Promise<Judged> {
  const time = assignments.find((assignment) => assignment.role === 'time')
  if (!time) throw new Error('a log is judged by its clock, and there is none')
  const reader = await ColumnReader.open(path, layout)
  try {
    const others = assignments.filter(({ role }) => role !== 'time')
    const { rows } = layout
    const parts = new Parts(work, rows * 16 + 8)
    const stamps = parts.f64(rows)
    const pair = parts.f64(rows)
    const raw = reader.valuesNow(time.column, pair.buffer, pair.byteOffset)
    const mended = mend(canonicalTime(raw, time, stamps), stamps)
    const clock = describeClock(mended, pair)
    const restarts = [...new Set([...headRestarts, ...mended.restarts])].sort((a, b) => a - b)
    const windows = clueWindows(mended.time_s, restarts, 1 / clock.nominalRate_hz)
    const health = new SignalHealth(mended.time_s, clock.effectiveRate_hz)
    // The same memory holds a column after another, and what is added up of them.
    const column = new Float32Array(pair.buffer, pair.byteOffset, rows)
    const sums = new Float32Array(pair.buffer, pair.byteOffset + 4 * rows, rows)
    const clues = new ClueGatherer(windows, others, sums)
    const strip = new StripGatherer(mended.time_s)
    for (const assignment of others) {
      stop()
      const values = canonicalValues(reader, assignment, column)
      health.add(assignment, values)
      clues.add(assignment, values)
      strip.add(assignment.role, values)
    }
    const flights = findFlightsIn(clues.clues(mended.time_s))
    const at_s = (row: number): number => (mended.time_s[row] as number) - (mended.time_s[0] as number)
    const judged = {
      clock,
      restarts,
      flights,
      glance: {
        activity: strip.strip(),
        flightTimes: flights.map(({ from, to }) => ({ t0_s: at_s(from), t1_s: at_s(to - 1) })),
      },
      notices: [...clockNotices(clock), ...missingNotices(assignments), ...health.notices()],
    }
    parts.end()
    return judged
  } finally {
    await reader.close()
  }
}

/** A column in canonical units; `into` is filled and returned. */
function canonicalValues(
  reader: ColumnReader,
  assignment: Assignment,
  into: Float32Array<ArrayBuffer>,
): Float32Array {
  if (reader.width(assignment.column) === 8) {
    reader.wideValuesNow(assignment.column, (values, row) => {
      applyAssignment(values, assignment, into.subarray(row, row + values.length))
    })
    return into
  }
  return applyAssignment(reader.valuesNow(assignment.column, into.buffer, into.byteOffset), assignment, into)
}
