import { MEASURES, measureFlight } from '../../../workers/comparison/flight-measures.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'
import { AXES } from '../../../workers/flight/axes.ts'
import { motorChannels, prepareSignals, type RawColumn } from '../../../workers/flight/signals.ts'
import type { ColumnFileLayout } from '../../../workers/log/log.ts'
import { headroom, motorLimits } from '../../../workers/response/headroom.ts'
import { readColumnValues } from '../../intake/column-file.ts'

/** A flight to be measured whole. */
export interface MeasureOrder {
  readonly columnFile: string
  readonly layout: ColumnFileLayout
  readonly assignments: readonly Assignment[]
  readonly rows: { readonly from: number; readonly to: number } | null
}

/** Which measures there are, in the order of the table; their values are kept under these names. */
export const FLIGHT_MEASURES: readonly string[] = [
  ...AXES.flatMap((axis) => MEASURES.map(({ label, unit }) => `${axis}: ${label} (${unit})`)),
  'motors at their top (%)',
  'motors at their idle (%)',
]

/** The version goes up whenever the same flight would give other numbers. */
export const FLIGHT_MEASURES_METHOD = { id: 'whole-flight-measures', version: 1 } as const

/**
 * The measures of a whole flight in the order of FLIGHT_MEASURES; null where one can't be given.
 * @throws Problem source-missing when the samples are gone
 */
export async function measureStored({
  columnFile,
  layout,
  assignments,
  rows,
}: MeasureOrder): Promise<(number | null)[]> {
  const columns = new Map<number, RawColumn>()
  for (const { column } of assignments) {
    if (columns.has(column)) continue
    const values = await readColumnValues(columnFile, layout, column)
    columns.set(column, rows ? values.subarray(rows.from, rows.to) : values)
  }
  const signals = prepareSignals(assignments, (column) => columns.get(column) as RawColumn)
  const whole = measureFlight(signals, signals.t_s[0] ?? 0, signals.t_s.at(-1) ?? 0)
  const motors = motorChannels(signals).flatMap((name) => signals.channels[name] ?? [])
  const { atTop, atIdle } = headroom(motors.length > 0 ? motorLimits(motors) : null, 0, signals.t_s.length)
  return [
    ...AXES.flatMap((axis) => MEASURES.map(({ key }) => whole[axis][key].value)),
    ...[atTop, atIdle].map((share) => (share.kind === 'given' ? share.value : null)),
  ]
}
