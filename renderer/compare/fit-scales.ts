import { traceRange, type FlightPart, type RateRange } from '../../workers/comparison/ranges.ts'
import type { ChannelWords } from './channels.ts'
import type { Side } from './comparison.svelte.ts'
import type { Rows } from './rows.svelte.ts'

/** Fitted scales by row, unit and flight. */
export type FittedScales = ReadonlyMap<string, RateRange>

/** Fits every row's scales to parts of the two flights. */
export function fitScales(rows: Rows, parts: Readonly<Record<Side, FlightPart>>): FittedScales {
  const fitted = new Map<string, RateRange>()
  const traces = rows.all.filter(({ kind }) => kind === 'traces')
  for (const row of traces) {
    for (const [unit, channels] of byUnit(rows.drawnIn(row.id))) {
      const both = traceRange([parts.a, parts.b], channels, unit)
      fitted.set(scaleKey(row.id, unit, 'a'), rows.locked ? both : traceRange([parts.a], channels, unit))
      fitted.set(scaleKey(row.id, unit, 'b'), rows.locked ? both : traceRange([parts.b], channels, unit))
    }
  }
  const axes = traces.filter(({ axis }) => axis !== null).map(({ id }) => id)
  if (rows.together) widenTogether(fitted, axes)
  return fitted
}

/** What a scale is filed under. */
export const scaleKey = (row: string, unit: string, side: Side) => `${row}/${unit}/${side}`

function byUnit(channels: readonly ChannelWords[]): Map<string, ChannelWords[]> {
  const units = new Map<string, ChannelWords[]>()
  for (const one of channels) units.set(one.unit, [...(units.get(one.unit) ?? []), one])
  return units
}

/** Gives the axes' scales of each unit and flight the widest of them. */
function widenTogether(fitted: Map<string, RateRange>, axes: readonly string[]): void {
  const widest = new Map<string, RateRange>()
  const mine = [...fitted].filter(([key]) => axes.includes(key.split('/')[0] ?? ''))
  const groupOf = (key: string) => key.slice(key.indexOf('/'))
  for (const [key, range] of mine) {
    const before = widest.get(groupOf(key))
    widest.set(groupOf(key), {
      min: Math.min(range.min, before?.min ?? Infinity),
      max: Math.max(range.max, before?.max ?? -Infinity),
      cut: range.cut || (before?.cut ?? false),
    })
  }
  for (const [key] of mine) fitted.set(key, widest.get(groupOf(key))!)
}
