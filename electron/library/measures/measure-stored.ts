import { figuresOfFlight } from '../../../workers/changes/flight-figures.ts'
import { MEASURES, measureFlight } from '../../../workers/comparison/flight-measures.ts'
import { flightPart } from '../../../workers/comparison/flight-part.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'
import { AXES, type Axis } from '../../../workers/flight/axes.ts'
import { prepareSignals, type FlightSignals, type RawColumn } from '../../../workers/flight/signals.ts'
import type { ColumnFileLayout } from '../../../workers/log/log.ts'
import type { ManoeuvreEdit } from '../../../workers/manoeuvre/manoeuvre.ts'
import { headroom } from '../../../workers/response/headroom.ts'
import { stepResponse } from '../../../workers/response/step-response.ts'
import type { MeasureKey } from '../../../workers/verdict/comparison.ts'
import { MEASURE_IDS, VERDICT_MEASURES } from '../../../workers/verdict/measures.ts'
import { readColumnValues } from '../../intake/column-file.ts'

/** A flight to be measured whole. */
export interface MeasureOrder {
  readonly columnFile: string
  readonly layout: ColumnFileLayout
  readonly assignments: readonly Assignment[]
  readonly rows: { readonly from: number; readonly to: number } | null
  /** What the pilot put right about its manoeuvres. */
  readonly edits: readonly ManoeuvreEdit[]
}

/** The verdict's measures in their order. */
const VERDICT_KEYS: readonly MeasureKey[] = MEASURE_IDS.flatMap((id): MeasureKey[] =>
  VERDICT_MEASURES[id].per === 'craft' ? [`${id}.craft`] : AXES.map((axis): MeasureKey => `${id}.${axis}`),
)

/** A measure's columns: value, the ends of its 95 % interval, and the manoeuvres behind it where it is made of such. */
function columnsOf(key: MeasureKey): string[] {
  const [id, of] = key.split('.') as [keyof typeof VERDICT_MEASURES, string]
  const { label, unit, from } = VERDICT_MEASURES[id]
  const name = `${of}: ${label}${from === 'pairs' ? ', by manoeuvre' : ''}`
  const ends = [`${name}, low`, `${name}, high`]
  return [
    unit === '' ? name : `${name} (${unit})`,
    ...ends,
    ...(from === 'pairs' ? [`${name}, manoeuvres`] : []),
  ]
}

/** Which columns `verdictFigures` gives, in order. */
export const VERDICT_COLUMNS: readonly string[] = VERDICT_KEYS.flatMap(columnsOf)

/** Which measures there are, in the order of the table; their values are kept under these names. */
export const FLIGHT_MEASURES: readonly string[] = [
  ...AXES.flatMap((axis) => MEASURES.map(({ label, unit }) => `${axis}: ${label} (${unit})`)),
  'motors at their top (%)',
  'motors at their idle (%)',
  ...VERDICT_COLUMNS,
]

/** The version goes up whenever the same flight would give other numbers. */
export const FLIGHT_MEASURES_METHOD = { id: 'whole-flight-measures', version: 2 } as const

/**
 * The measures of a whole flight in the order of FLIGHT_MEASURES; null where one can't be given. The verdict's measures are
 * the flight's own here, over all of its manoeuvres: nothing is paired, so flights that were flown differently differ with no
 * change of tune. Noise is told up to what the log's own rate shows.
 * @throws Problem source-missing when the samples are gone
 */
export async function measureStored({
  columnFile,
  layout,
  assignments,
  rows,
  edits,
}: MeasureOrder): Promise<(number | null)[]> {
  const columns = new Map<number, RawColumn>()
  for (const { column } of assignments) {
    if (columns.has(column)) continue
    const values = await readColumnValues(columnFile, layout, column)
    columns.set(column, rows ? values.subarray(rows.from, rows.to) : values)
  }
  const signals = prepareSignals(assignments, (column) => columns.get(column) as RawColumn)
  const whole = measureFlight(signals, signals.t_s[0] ?? 0, signals.t_s.at(-1) ?? 0)
  const { limits } = flightPart(signals, signals.t_s[0] ?? 0, signals.t_s.at(-1) ?? 0)
  const { atTop, atIdle } = headroom(limits, 0, signals.t_s.length)
  return [
    ...AXES.flatMap((axis) => MEASURES.map(({ key }) => whole[axis][key].value)),
    ...[atTop, atIdle].map((share) => (share.kind === 'given' ? share.value : null)),
    ...verdictFigures(signals, edits),
  ]
}

/** The verdict's measures of one flight by itself; null where one can't be given, or six manoeuvres for an interval lack. */
export function verdictFigures(signals: FlightSignals, edits: readonly ManoeuvreEdit[]): (number | null)[] {
  const { figures } = figuresOfFlight(signals, signals.rate_hz, edits)
  const steps = new Map(AXES.map((axis) => [axis as string, stepFigures(signals, axis)]))
  return VERDICT_KEYS.flatMap((key): (number | null)[] => {
    const [id, of] = key.split('.') as [keyof typeof VERDICT_MEASURES, string]
    if (VERDICT_MEASURES[id].from === 'flights')
      return steps.get(of)?.[id as StepMeasure] ?? [null, null, null]
    const figure = figures[key]
    return figure
      ? [figure.value, figure.interval?.low ?? null, figure.interval?.high ?? null, figure.count]
      : [null, null, null, 0]
  })
}

type StepMeasure = 'rise' | 'overshoot'
type ValueAndEnds = [number | null, number | null, number | null]

/** Rise (ms) and overshoot (%) of the whole flight's step response, where they are given without a caution. */
function stepFigures(signals: FlightSignals, axis: Axis): Record<StepMeasure, ValueAndEnds> {
  const none: ValueAndEnds = [null, null, null]
  const part = flightPart(signals, signals.t_s[0] ?? 0, signals.t_s.at(-1) ?? 0)
  const setpoint = part.samples(`setpoint.${axis}`)
  const gyro = part.samples(`gyro.${axis}`)
  if (!setpoint || !gyro || !(signals.rate_hz > 0)) return { rise: none, overshoot: none }
  const response = stepResponse({
    setpoint,
    gyro,
    rate_hz: signals.rate_hz,
    breaks: part.breaks,
    ...(part.limits ? { limited: part.limits.atTop } : {}),
  })
  if (response.kind === 'refused') return { rise: none, overshoot: none }
  const of = (name: 'rise_s' | 'overshoot_percent'): ValueAndEnds => {
    const figure = response.figures[name]
    // A table has no room for a caution: what needs one is left empty, as the verdict gives no word on it.
    if (figure.kind === 'refused' || figure.cautions.length > 0) return none
    return [figure.value, figure.interval?.low ?? null, figure.interval?.high ?? null]
  }
  return { rise: of('rise_s'), overshoot: of('overshoot_percent') }
}
