import { columnPath } from '../../electron/desk/contract/calls.ts'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { DrawnFlight } from '../../workers/comparison/ranges.ts'
import type { RawColumn } from '../../workers/flight/signals.ts'
import { call, fetchColumn } from '../desk/client.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { transfer } from 'comlink'

export interface LoadedFlight extends DrawnFlight {
  readonly detail: FlightDetail
}

/**
 * Fetches a flight's assigned columns and has a worker bring them to canonical units.
 * `onProgress` hears the share done, 0..1.
 */
export async function loadFlight(
  flightId: number,
  signal: AbortSignal,
  onProgress: (done: number) => void,
): Promise<LoadedFlight> {
  const detail = await call('flight.get', { flightId })
  const wanted = [...new Set(detail.assignments.map((assignment) => assignment.column))]
  const columns = new Map<number, RawColumn>()
  for (const index of wanted) {
    const bytes = await fetchColumn(columnPath(flightId, index, detail.contentHash), signal)
    const type = detail.columns.find((column) => column.index === index)?.type
    columns.set(index, type === 'f64' ? new Float64Array(bytes) : new Float32Array(bytes))
    onProgress((0.8 * columns.size) / wanted.length)
  }
  const flight = await comparisonWorkers.run(
    (worker) =>
      worker.prepare(
        detail.assignments,
        transfer(columns, [...columns.values()].map((column) => column.buffer) as ArrayBuffer[]),
      ),
    signal,
  )
  onProgress(1)
  return { ...flight, detail }
}
