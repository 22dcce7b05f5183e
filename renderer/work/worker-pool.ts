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

  constructor(make: () => Worker, size: number) {
    this.#make = make
    this.#slots = Array.from({ length: size }, () => this.#start())
  }

  /** Runs a job on the first free worker. @throws Problem 'cancelled' or 'worker-died', or what the job threw. */
  async run<T>(job: (api: comlink.Remote<Api>) => Promise<T>, signal?: AbortSignal): Promise<T> {
    const slot = await this.#take(signal)
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
