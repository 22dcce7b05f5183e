import { isProblem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { Settle } from '../work/settle.ts'
import { parseKeptViews, withView, writeKeptViews, type KeptView } from './kept-view.ts'

const KEY = 'views of pairs'
/** A view is written once it has stood still for so long. */
const SETTLE_MS = 400

/** Reads and writes how pairs were looked at. Nothing here is worth interrupting the pilot: failures are logged. */
class ViewKeeper {
  #views: readonly KeptView[] | null = null
  readonly #settle = new Settle(SETTLE_MS, () => void this.#write(false))
  #waiting = false

  constructor() {
    // What has not been written yet must not be lost with the window.
    window.addEventListener('pagehide', () => {
      if (this.#waiting) void this.#write(true)
    })
  }

  /** How a pair was looked at last; null when it never was. */
  async find(pair: string): Promise<KeptView | null> {
    await this.#orWarn(async () => {
      this.#views ??= parseKeptViews((await call('kept.get', { key: KEY })).value ?? '')
    })
    return this.#views?.find((view) => view.pair === pair) ?? null
  }

  /** Keeps how a pair is looked at now. A cursor that went away with the pointer stays where it was last. */
  keep(view: KeptView): void {
    if (!this.#views) return
    const before = this.#views.find(({ pair }) => pair === view.pair)
    this.#views = withView(this.#views, { ...view, cursor_s: view.cursor_s ?? before?.cursor_s ?? null })
    this.#waiting = true
    this.#settle.ask()
  }

  async #write(windowCloses: boolean): Promise<void> {
    const views = this.#views
    if (!views) return
    this.#settle.drop()
    this.#waiting = false
    await this.#orWarn(async () => {
      await call('kept.set', { key: KEY, value: writeKeptViews(views) }, { keepalive: windowCloses })
    })
  }

  async #orWarn(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      console.warn(error.message)
    }
  }
}

export const viewKeeper = new ViewKeeper()
