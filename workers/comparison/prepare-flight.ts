import type { Assignment } from '../columns/roles.ts'
import { withEstimates } from '../flight/estimated-setpoint.ts'
import {
  channelEntries,
  prepareSignals,
  withErrors,
  type ChannelName,
  type FlightSignals,
  type RawColumn,
} from '../flight/signals.ts'
import { buildPyramid, type Pyramid } from '../reduce/pyramid.ts'
import type { DrawnFlight } from './ranges.ts'

/**
 * Raw columns to a flight that can be drawn and measured: canonical units, mended clock, errors and estimates, pyramids.
 * With `share`, samples and pyramids lie in shared memory so that every worker can read them without a copy.
 *
 * @throws Error when an assigned column is missing.
 */
export function prepareFlight(
  assignments: readonly Assignment[],
  columns: ReadonlyMap<number, RawColumn>,
  share: boolean,
): DrawnFlight {
  const logged = prepareSignals(assignments, (index) => {
    const raw = columns.get(index)
    if (!raw) throw new Error(`column ${index} was not loaded`)
    return raw
  })
  const signals = withEstimates(withErrors(logged))
  const pyramids: Partial<Record<ChannelName, Pyramid>> = {}
  for (const [name, samples] of channelEntries(signals)) {
    pyramids[name] = buildPyramid(samples)
  }
  return share ? { signals: shared(signals), pyramids: sharedPyramids(pyramids) } : { signals, pyramids }
}

function shared(signals: FlightSignals): FlightSignals {
  const t_s = new Float64Array(new SharedArrayBuffer(signals.t_s.byteLength))
  t_s.set(signals.t_s)
  const channels: Partial<Record<ChannelName, Float32Array>> = {}
  for (const [name, samples] of channelEntries(signals)) channels[name] = sharedCopy(samples)
  return { ...signals, t_s, channels }
}

function sharedPyramids(pyramids: DrawnFlight['pyramids']): DrawnFlight['pyramids'] {
  const found = Object.entries(pyramids) as [ChannelName, Pyramid][]
  return Object.fromEntries(
    found.map(([name, { length, levels }]) => [
      name,
      {
        length,
        levels: levels.map(({ block, min, max }) => ({ block, min: sharedCopy(min), max: sharedCopy(max) })),
      },
    ]),
  )
}

/** The same values in memory that every worker reads without a copy. */
function sharedCopy(values: Float32Array): Float32Array {
  const copy = new Float32Array(new SharedArrayBuffer(values.byteLength))
  copy.set(values)
  return copy
}

/** The buffers of a prepared flight that can be transferred, each once; shared ones need no transfer. */
export function buffersOf(flight: DrawnFlight): ArrayBuffer[] {
  const arrays = [
    flight.signals.t_s,
    ...channelEntries(flight.signals).map(([, samples]) => samples),
    ...Object.values(flight.pyramids as Record<string, Pyramid>).flatMap(({ levels }) =>
      levels.flatMap(({ min, max }) => [min, max]),
    ),
  ]
  return [...new Set(arrays.map((array) => array.buffer))].filter((buffer) => buffer instanceof ArrayBuffer)
}
