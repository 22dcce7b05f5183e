import type { FrequencyComparison } from '../../workers/comparison/frequency.ts'
import type { Axis } from '../../workers/flight/axes.ts'
import { isProblem } from '../../workers/log/problems.ts'
import type { Comparison } from '../compare/comparison.svelte.ts'
import { Latest } from '../work/latest.ts'
import { comparisonWorkers } from '../work/workers.ts'

/** Spectra, noise maps and responses of one axis over what is visible side by side. */
export class Frequency {
  axis = $state<Axis>('roll')
  found = $state.raw<FrequencyComparison | null>(null)
  working = $state(false)
  problem = $state('')
  readonly #stop = new AbortController()
  readonly #latest = new Latest(60)

  /** Asks for the axis and span in force; the last result stays until the new one is there. */
  compute(comparison: Comparison): void {
    const { a, b, offset_s } = comparison
    const { t0_s, t1_s } = comparison.view.span
    const { axis } = this
    if (!a || !b) return
    this.#latest.ask(async () => {
      this.working = true
      try {
        this.found = await comparisonWorkers.run(
          (worker) => worker.frequency(a.signals, b.signals, offset_s, t0_s, t1_s, axis),
          this.#stop.signal,
        )
        this.problem = ''
      } catch (error) {
        if (!isProblem(error)) throw error
        if (error.code !== 'cancelled') this.problem = error.message
      } finally {
        this.working = false
      }
    })
  }

  close(): void {
    this.#latest.drop()
    this.#stop.abort()
  }
}
