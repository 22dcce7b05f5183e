import type { ComparisonApi } from '../../workers/comparison/comparison.worker.ts'
import type { PictureApi } from '../../workers/picture/picture.worker.ts'
import type { FlightApi } from './flight.worker.ts'
import type { ResultsApi } from './results.worker.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { WorkerPool } from './worker-pool.ts'

/** Two, for the two flights; started with the window, since a worker takes a tenth of a second to start. */
export const comparisonWorkers = new WorkerPool<ComparisonApi>(
  () =>
    new Worker(new URL('../../workers/comparison/comparison.worker.ts', import.meta.url), { type: 'module' }),
  2,
)

/** One for each flight of a pair. */
export const flightWorkers = new WorkerPool<FlightApi>(
  () => new Worker(new URL('./flight.worker.ts', import.meta.url), { type: 'module' }),
  2,
)

export const pictureWorkers = new WorkerPool<PictureApi>(
  () => new Worker(new URL('../../workers/picture/picture.worker.ts', import.meta.url), { type: 'module' }),
  1,
)

export const resultWorkers = new WorkerPool<ResultsApi>(
  () => new Worker(new URL('./results.worker.ts', import.meta.url), { type: 'module' }),
  1,
)

/** A click on the second flight may follow at once: what it asks for comes first. */
const REHEARSE_AFTER_MS = 300

/**
 * Has the comparison workers rehearse in a moment: the first pair then takes half the time. The function returned calls it
 * off as long as it has not begun.
 */
export function rehearseSoon(): () => void {
  const timer = setTimeout(() => {
    comparisonWorkers
      .rehearse((api, part) => api.rehearse(part))
      .catch((error: unknown) => {
        // The worker is replaced; the pair will say what is wrong if it still is.
        if (!isProblem(error)) throw error
        console.warn(error.message)
      })
  }, REHEARSE_AFTER_MS)
  return () => clearTimeout(timer)
}
