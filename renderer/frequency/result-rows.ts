/** Rows of the frequency screen's tables of results. */
import type { FlightEvents } from '../../workers/comparison/flight-events.ts'
import { AXES } from '../../workers/flight/axes.ts'
import { sheetOfFlight } from '../../workers/settings/sheet-of-flight.ts'
import { refused, type Refused, type Result } from '../../workers/signal/result.ts'
import { BUSY_HZ, SHEET_METHOD, sheetDelays, type PlaceDelay } from '../../workers/signal/sheet-delays.ts'
import { formatFixed } from '../../workers/ticks/ticks.ts'
import { SIDES, type Comparison, type Side } from '../compare/comparison.svelte.ts'
import type { Both } from './curves.ts'
import type { PerSide } from './frequency.svelte.ts'

export interface ResultRow {
  readonly name: string
  readonly results: PerSide<Result<number> | null>
  readonly digits?: number
  /** What `segments` counts, e.g. 'drops'. */
  readonly counts?: string
}

/** Reasons, cautions and exclusions of all rows, each sentence once, with the flights that it holds for. */
export function remarksOn(rows: readonly ResultRow[]): string[] {
  const byText = new Map<string, Set<string>>()
  const add = (text: string, side: Side) =>
    byText.set(text, (byText.get(text) ?? new Set()).add(side.toUpperCase()))
  for (const { results } of rows) {
    for (const side of SIDES) {
      const result = results[side]
      if (!result) continue
      if (result.kind === 'refused') add(result.reason, side)
      for (const caution of result.cautions) add(caution, side)
      for (const { what, share } of result.exclusions)
        add(`Left out: ${what}, ${formatFixed(100 * share, 1)} % of the span.`, side)
    }
  }
  return [...byText].map(([text, sides]) => `${[...sides].sort().join(' and ')}: ${text}`)
}

const bothOf = <T>(make: (side: Side) => T): PerSide<T> => ({ a: make('a'), b: make('b') })

/** How long the gyro comes after the setpoint, told in two ways. */
export function lagRows(both: Both): ResultRow[] {
  return [
    { name: 'Lag, by correlation', results: bothOf((side) => both[side].lag.lag), digits: 2 },
    {
      name: 'Lag, by the slope of the phase',
      results: bothOf((side) => both[side].lag.byPhase),
      ...{ digits: 2, counts: 'segments' },
    },
  ]
}

/** What both gyros show of the filters. */
export function filterRows(both: Both): ResultRow[] {
  const of = (name: 'delay' | 'corner') =>
    bothOf((side): Result<number> => {
      const { filter } = both[side]
      return filter.kind === 'refused' ? filter : filter[name]
    })
  return [
    { name: 'Delay of the filters, measured', results: of('delay'), digits: 2, counts: 'segments' },
    { name: 'Half of the power gone at', results: of('corner'), digits: 0 },
  ]
}

/** What the settings sheets say of the filters, by the place where they work. */
export function sheetRows(comparison: Comparison): ResultRow[] {
  const delays = bothOf((side) => {
    const flight = comparison.flight(side)
    return flight ? sheetDelays(sheetOfFlight(flight.detail).settings, flight.signals.rate_hz) : []
  })
  const places = [...new Set(SIDES.flatMap((side) => placesOf(delays[side]).map(({ place }) => place)))]
  const result = (side: Side, place: string, part: 'slow' | 'busy'): Result<number> | null => {
    const own = delays[side]
    if (typeof own === 'string') return none(own)
    return (
      own.find((one) => one.place === place)?.[part] ??
      none(`The settings sheet describes no filter for ${place}.`)
    )
  }
  if (places.length === 0) {
    const results = bothOf((side) => (typeof delays[side] === 'string' ? none(delays[side]) : null))
    return [{ name: 'Delay by the settings sheet', results }]
  }
  return places.flatMap((place) => {
    const filters = [
      ...new Set(
        SIDES.flatMap((side) =>
          placesOf(delays[side])
            .filter((one) => one.place === place)
            .flatMap((one) => one.filters),
        ),
      ),
    ]
    return [
      {
        name: `Delay by the settings sheet, ${place} (${filters.join(', ')})`,
        results: bothOf((side) => result(side, place, 'slow')),
        digits: 2,
      },
      {
        name: `the same at ${BUSY_HZ} Hz`,
        results: bothOf((side) => result(side, place, 'busy')),
        digits: 2,
      },
    ].map((row) => ({ ...row, name: row.name.startsWith('the same') ? `${row.name}, ${place}` : row.name }))
  })
}

const placesOf = (delays: readonly PlaceDelay[] | string): readonly PlaceDelay[] =>
  typeof delays === 'string' ? [] : delays
const none = (reason: string): Refused => refused(reason, { method: SHEET_METHOD })

/** Drift, wash and headroom. */
export function eventRows(events: PerSide<FlightEvents | null>): ResultRow[] {
  return [
    ...AXES.map((axis) => ({
      name: `Turned away on punches and chops, ${axis}`,
      results: bothOf((side) => events[side]?.drift[axis] ?? null),
      counts: 'steps',
    })),
    ...AXES.map((axis) => ({
      name: `Shaking after caught drops, ${axis}`,
      results: bothOf((side) => events[side]?.wash[axis] ?? null),
      counts: 'drops',
    })),
    {
      name: 'Any motor at its top',
      results: bothOf((side) => events[side]?.headroom.atTop ?? null),
      digits: 2,
    },
    {
      name: 'Any motor at its idle',
      results: bothOf((side) => events[side]?.headroom.atIdle ?? null),
      digits: 2,
    },
  ]
}
