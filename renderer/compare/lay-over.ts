import type { Alignment } from '../../workers/align/align.ts'
import { Recent } from '../work/recent.ts'
import { comparisonWorkers } from '../work/workers.ts'
import type { LoadedFlight } from './load-flight.ts'

/** A thousand pairs; each alignment is a few numbers and a sentence. */
const recent = new Recent<Alignment>(1000)

/** How B is laid over A, from memory when it was found before. @throws Problem 'cancelled' or 'worker-died' */
export async function layOver(a: LoadedFlight, b: LoadedFlight, signal: AbortSignal): Promise<Alignment> {
  const key = JSON.stringify([a, b].map(({ detail }) => [detail.contentHash, detail.reading]))
  const known = recent.get(key)
  if (known) return known
  const alignment = await comparisonWorkers.run((worker) => worker.align(a.signals, b.signals), signal)
  recent.keep(key, alignment, 1)
  return alignment
}
