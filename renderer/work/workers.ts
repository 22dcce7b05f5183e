import type { ComparisonApi } from '../../workers/comparison/comparison.worker.ts'
import type { PictureApi } from '../../workers/picture/picture.worker.ts'
import { WorkerPool } from './worker-pool.ts'

/** Two, for the two flights; started with the window, since a worker takes a tenth of a second to start. */
export const comparisonWorkers = new WorkerPool<ComparisonApi>(
  () =>
    new Worker(new URL('../../workers/comparison/comparison.worker.ts', import.meta.url), { type: 'module' }),
  2,
)

export const pictureWorkers = new WorkerPool<PictureApi>(
  () => new Worker(new URL('../../workers/picture/picture.worker.ts', import.meta.url), { type: 'module' }),
  1,
)
