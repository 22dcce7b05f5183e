import { proxy } from 'comlink'
import type { Comparison as Verdict } from '../../workers/verdict/comparison.ts'
import { isProblem } from '../../workers/log/problems.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { comparisonWorkers } from '../work/workers.ts'

/** The verdict on a pair of flights: computed once per pair, over the whole of both. */
export class VerdictOf {
  found = $state.raw<Verdict | null>(null)
  working = $state<{ done: number; doing: string } | null>(null)
  problem = $state('')
  #stop = new AbortController()
  #asked = false

  /** Begins, unless it has begun already. */
  async begin(a: LoadedFlight, b: LoadedFlight): Promise<void> {
    if (this.#asked) return
    this.#asked = true
    this.#stop = new AbortController()
    this.problem = ''
    this.working = { done: 0, doing: 'Comparing like with like' }
    let over = false
    try {
      this.found = await comparisonWorkers.run(
        (worker) =>
          worker.verdict(
            a.signals,
            b.signals,
            proxy((done: number, doing: string) => {
              if (!over) this.working = { done, doing }
            }),
          ),
        this.#stop.signal,
      )
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = error.code === 'cancelled' ? 'Cancelled.' : error.message
    } finally {
      over = true
      this.working = null
    }
  }

  /** Begins anew after it was cancelled or failed. */
  again(a: LoadedFlight, b: LoadedFlight): void {
    this.#asked = false
    void this.begin(a, b)
  }

  cancel(): void {
    this.#stop.abort()
  }
}
