import { columnPath } from '../../electron/desk/contract/calls.ts'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { RawColumn } from '../../workers/flight/signals.ts'
import { excerptColumns, type ExcerptColumn } from '../../workers/share/excerpt.ts'
import type { Side } from '../compare/comparison.svelte.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { fetchColumn } from '../desk/client.ts'

/** A column that either log has, as a line of the list. */
export interface OfferedColumn {
  readonly key: string
  readonly head: string
  readonly tells: ExcerptColumn['tells']
  readonly usual: boolean
  readonly sides: readonly Side[]
}

/** The columns of both logs, each once, those with a meaning first. */
export function columnsOfBoth(a: FlightDetail, b: FlightDetail): OfferedColumn[] {
  const found = new Map<string, OfferedColumn>()
  for (const [side, detail] of [
    ['a', a],
    ['b', b],
  ] as const) {
    for (const { key, head, tells, usual } of columnsOf(detail)) {
      const sides = [...(found.get(key)?.sides ?? []), side]
      found.set(key, { key, head, tells, usual, sides })
    }
  }
  return [...found.values()].sort((one, other) => Number(other.usual) - Number(one.usual))
}

export const columnsOf = (detail: FlightDetail): ExcerptColumn[] =>
  excerptColumns(detail.columns, detail.assignments)

/** The columns without a meaning, as they stand in the log. */
export async function rawOf(
  { detail }: LoadedFlight,
  columns: readonly ExcerptColumn[],
  signal: AbortSignal,
): Promise<Map<number, RawColumn>> {
  const raw = new Map<number, RawColumn>()
  for (const { source } of columns) {
    if (!('column' in source)) continue
    const bytes = await fetchColumn(columnPath(detail.id, source.column, detail.contentHash), signal)
    const type = detail.columns.find(({ index }) => index === source.column)?.type
    raw.set(source.column, type === 'f64' ? new Float64Array(bytes) : new Float32Array(bytes))
  }
  return raw
}
