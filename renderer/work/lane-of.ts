import { proxy } from 'comlink'
import type { Lane } from '../../workers/comparison/spectra.ts'
import { laneFrom, type LaneOf } from './lane-cache.ts'
import { comparisonWorkers } from './workers.ts'

/** A signal's spectrogram as `laneFrom` gives it, its tiles computed by a comparison worker. @throws Problem 'cancelled' or 'worker-died' */
export function laneOf(
  of: LaneOf,
  t0_s: number,
  t1_s: number,
  columns: number,
  stop: AbortSignal,
  onProgress: (done: number) => void = () => undefined,
): Promise<Lane | null> {
  return laneFrom(of, t0_s, t1_s, columns, ({ signals, signal, axis }, layout, tiles) =>
    comparisonWorkers.run(
      (worker) => worker.laneTiles(signals, signal, axis, layout, tiles, proxy(onProgress)),
      stop,
    ),
  )
}
