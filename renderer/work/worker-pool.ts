import * as comlink from 'comlink'
import { Problem } from '../../workers/log/problems.ts'

interface Slot<Api> {
  worker: Worker
  remote: comlink.Remote<Api>
  busy: boolean
}

/**
 * A few warm workers of one kind. Comlink alone would hang when a worker dies: here a job is rejected when its
 * worker fails, and when the caller's signal is aborted; in both cases the worker is replaced, so that the next
 * job finds a clean one.
 */
export class WorkerPool<Api> {
  readonly #make: () => Worker
  readonly #slots: Slot<Api>[]
  readonly #waiting: (() => void)[] = []
  #asked = false
  #rehearsed = false

  constructor(make: () => Worker, size: number) {
    this.#make = make
    this.#slots = Array.from({ length: size }, () => this.#start())
  }

  /** Runs a job on the first free worker. @throws Problem 'cancelled' or 'worker-died', or what the job threw. */
  async run<T>(job: (api: comlink.Remote<Api>) => Promise<T>, signal?: AbortSignal): Promise<T> {
    this.#asked = true
    return this.#runOn(await this.#take(signal), job, signal)
  }

  /**
   * Has every worker do `part` 0, 1, 2... for its own good while nothing is asked of the pool, until one says that none is left;
   * the first real job ends it. Once: later calls do nothing.
   */
  async rehearse(part: (api: comlink.Remote<Api>, part: number) => Promise<boolean>): Promise<void> {
    if (this.#asked || this.#rehearsed) return
    this.#rehearsed = true
    await Promise.all(
      this.#slots.map(async (slot) => {
        let left = true
        for (let index = 0; left && !this.#asked; index++) {
          slot.busy = true
          left = await this.#runOn(slot, (api) => part(api, index))
        }
      }),
    )
  }

  /** Runs a job on a worker that was taken for it, and gives it back. */
  async #runOn<T>(
    slot: Slot<Api>,
    job: (api: comlink.Remote<Api>) => Promise<T>,
    signal?: AbortSignal,
  ): Promise<T> {
    let replace = false
    let stopListening = () => {}
    const broken = new Promise<never>((_resolve, reject) => {
      const die = (event: Event) => {
        replace = true
        const message = event instanceof ErrorEvent ? event.message : event.type
        reject(
          new Problem('worker-died', `A computation stopped unexpectedly (${message}). Please try again.`),
        )
      }
      const abort = () => {
        replace = true
        reject(new Problem('cancelled', 'Cancelled.'))
      }
      slot.worker.addEventListener('error', die)
      slot.worker.addEventListener('messageerror', die)
      signal?.addEventListener('abort', abort)
      stopListening = () => {
        slot.worker.removeEventListener('error', die)
        slot.worker.removeEventListener('messageerror', die)
        signal?.removeEventListener('abort', abort)
      }
    })
    try {
      return await Promise.race([job(slot.remote), broken])
    } finally {
      stopListening()
      if (replace) {
        slot.worker.terminate()
        Object.assign(slot, this.#start())
      }
      slot.busy = false
      this.#waiting.shift()?.()
    }
  }

  /** A free worker, which is taken from then on: nobody else may end it by stopping a job of his own. */
  async #take(signal: AbortSignal | undefined): Promise<Slot<Api>> {
    for (;;) {
      if (signal?.aborted) {
        // The turn that woke this job goes to the next one.
        this.#waiting.shift()?.()
        throw new Problem('cancelled', 'Cancelled.')
      }
      const slot = this.#slots.find((candidate) => !candidate.busy)
      if (slot) {
        slot.busy = true
        return slot
      }
      await new Promise<void>((resolve) => this.#waiting.push(resolve))
    }
  }

  #start(): Slot<Api> {
    const worker = this.#make()
    return { worker, remote: comlink.wrap<Api>(worker), busy: false }
  }
}
