import { setTimeout as wait } from 'node:timers/promises'
import { Problem } from '../../workers/log/problems.ts'

/** How long this thread is kept at a time; a window's frames are about as far apart. */
const SLICE_MS = 16
/** Long enough for everything that came in meanwhile to be answered first. */
const REST_MS = 2

/** Long work in this thread, done in slices: whoever else waits for the thread gets a turn between them. */
export class Slices {
  #until_ms = 0

  constructor() {
    this.#begin()
  }

  /** True when it is time to give the thread back. */
  get isOver(): boolean {
    return performance.now() >= this.#until_ms
  }

  /** Gives the thread back, and begins the next slice. @throws Problem cancelled, when the signal says so */
  async turn(signal: AbortSignal): Promise<void> {
    await wait(REST_MS)
    if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
    this.#begin()
  }

  #begin(): void {
    this.#until_ms = performance.now() + SLICE_MS
  }
}
