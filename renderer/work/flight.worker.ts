/// <reference lib="webworker" />
import { expose, transfer } from 'comlink'
import type { Assignment } from '../../workers/columns/roles.ts'
import { buffersOf, prepareFlight } from '../../workers/comparison/prepare-flight.ts'
import type { DrawnFlight } from '../../workers/comparison/ranges.ts'
import type { RawColumn } from '../../workers/flight/signals.ts'
import { isProblem, type ProblemCode } from '../../workers/log/problems.ts'
import { fetchColumn } from '../desk/client.ts'
import { fetchOutline, type FlightOutline } from '../pair/first-picture.ts'

/** A column as the desk serves it. */
export interface ServedColumn {
  readonly index: number
  readonly path: string
  readonly type: 'f32' | 'f64'
}

/** A flight, or why there is none: a Problem would lose its code on its way to the window. */
export type Loaded =
  | { readonly flight: DrawnFlight }
  | { readonly problem: { readonly code: ProblemCode; readonly message: string } }

/** Fetches and prepares flights beside the window's own thread: tens of megabytes that it never touches. */
const api = {
  async outline(flightId: number): Promise<FlightOutline | null> {
    return fetchOutline(flightId)
  },
  async load(
    assignments: Assignment[],
    served: readonly ServedColumn[],
    onProgress: (done: number) => void,
  ): Promise<Loaded> {
    const columns = new Map<number, RawColumn>()
    try {
      for (const { index, path, type } of served) {
        const bytes = await fetchColumn(path)
        columns.set(index, type === 'f64' ? new Float64Array(bytes) : new Float32Array(bytes))
        onProgress((0.8 * columns.size) / served.length)
      }
    } catch (error) {
      if (!isProblem(error)) throw error
      return { problem: { code: error.code, message: error.message } }
    }
    const flight = prepareFlight(assignments, columns, globalThis.crossOriginIsolated)
    return transfer({ flight }, buffersOf(flight))
  },
}
export type FlightApi = typeof api

expose(api)
