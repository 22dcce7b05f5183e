import { Settle } from './settle.ts'

/**
 * Keeps one job running and only the newest waiting: a burst of views costs two computations, not one each.
 * The view goes on showing the last good result until the next.
 */
export class Latest {
  #running = false
  #next: (() => Promise<void>) | null = null
  readonly #settle: Settle

  /** A job starts once no newer one has come for settle_ms. */
  constructor(settle_ms = 0) {
    this.#settle = new Settle(settle_ms, () => void this.#turn())
  }

  ask(job: () => Promise<void>): void {
    this.#next = job
    this.#settle.ask()
  }

  /** Forgets what waits; what runs is the caller's to abort. */
  drop(): void {
    this.#settle.drop()
    this.#next = null
  }

  async #turn(): Promise<void> {
    if (this.#running) return
    this.#running = true
    try {
      while (this.#next) {
        const job = this.#next
        this.#next = null
        await job()
      }
    } finally {
      this.#running = false
    }
  }
}
