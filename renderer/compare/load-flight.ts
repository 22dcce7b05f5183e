import { proxy } from 'comlink'
import { columnPath } from '../../electron/desk/contract/calls.ts'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { DrawnFlight } from '../../workers/comparison/ranges.ts'
import { channelEntries } from '../../workers/flight/signals.ts'
import { Problem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { Recent } from '../work/recent.ts'
import type { Loaded } from '../work/flight.worker.ts'
import { flightWorkers } from '../work/workers.ts'

export interface LoadedFlight extends DrawnFlight {
  readonly detail: FlightDetail
}

/** Flights that were just looked at: going back to them, or comparing one with a third, reads nothing again. */
const recent = new Recent<DrawnFlight>(256 * 1024 * 1024)

/**
 * A flight in canonical units, with what it is called now: from memory, else a worker fetches its assigned columns.
 * `onProgress` hears the share done, 0..1.
 * @throws Problem 'cancelled', 'not-found', 'cannot-read' or 'worker-died'
 */
export async function loadFlight(
  flightId: number,
  signal: AbortSignal,
  onProgress: (done: number) => void,
): Promise<LoadedFlight> {
  const detail = await call('flight.get', { flightId })
  // Content and how it is read: a meaning that was put right makes it another flight.
  const key = `${detail.contentHash} ${detail.reading}`
  const known = recent.get(key)
  const flight = known ?? (await fetchFlight(detail, signal, onProgress))
  if (!known) recent.keep(key, flight, bytesOf(flight))
  onProgress(1)
  return { ...flight, detail }
}

async function fetchFlight(
  { id, assignments, columns, contentHash }: FlightDetail,
  signal: AbortSignal,
  onProgress: (done: number) => void,
): Promise<DrawnFlight> {
  const wanted = [...new Set(assignments.map((assignment) => assignment.column))].map((index) => ({
    index,
    path: columnPath(id, index, contentHash),
    type:
      columns.find((column) => column.index === index)?.type === 'f64' ? ('f64' as const) : ('f32' as const),
  }))
  const loaded = await flightWorkers.run<Loaded>(
    (worker) => worker.load([...assignments], wanted, proxy(onProgress)),
    signal,
  )
  if ('problem' in loaded) throw new Problem(loaded.problem.code, loaded.problem.message)
  return loaded.flight
}

/** Samples and stamps; the pyramids are a third of the samples. */
function bytesOf({ signals }: DrawnFlight): number {
  return channelEntries(signals).reduce(
    (sum, [, samples]) => sum + samples.byteLength,
    signals.t_s.byteLength,
  )
}
