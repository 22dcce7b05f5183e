import { Worker } from 'node:worker_threads'
import { Problem } from '../../../workers/log/problems.ts'
import { workerEntry } from '../../worker-entry.ts'
import type { MeasureOrder } from './measure-stored.ts'
import type { MeasureReply } from './measure.worker.ts'

/** Measures flights one after another in a thread of its own; whoever starts it closes it. */
export class MeasureThread {
  readonly #worker = new Worker(workerEntry('measure.worker', import.meta.url))

  /** @throws Problem as `measureStored` does, cancelled, worker-died; one order at a time */
  async measure(order: MeasureOrder, signal: AbortSignal): Promise<(number | null)[]> {
    const { promise, resolve, reject } = Promise.withResolvers<(number | null)[]>()
    const answered = (reply: MeasureReply): void =>
      reply.kind === 'measured' ? resolve(reply.values) : reject(new Problem(reply.code, reply.message))
    const ended = (): void => reject(new Problem('worker-died', 'Measuring a flight ended without a result.'))
    const cancelled = (): void => reject(new Problem('cancelled', 'Cancelled.'))
    this.#worker.once('message', answered)
    this.#worker.once('error', reject)
    this.#worker.once('exit', ended)
    signal.addEventListener('abort', cancelled, { once: true })
    if (signal.aborted) cancelled()
    else this.#worker.postMessage(order)
    try {
      return await promise
    } finally {
      this.#worker.off('message', answered)
      this.#worker.off('error', reject)
      this.#worker.off('exit', ended)
      signal.removeEventListener('abort', cancelled)
    }
  }

  async close(): Promise<void> {
    await this.#worker.terminate()
  }
}
