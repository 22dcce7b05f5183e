import { flightWorkers } from '../work/workers.ts'
import type { FlightOutline } from './first-picture.ts'
import { Outlines } from './outlines.ts'

/** The outlines of the pair that is chosen in this window. */
export const outlines = new Outlines((flightId) =>
  flightWorkers.run<FlightOutline | null>((worker) => worker.outline(flightId)),
)
