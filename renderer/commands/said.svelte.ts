/** What became of the last command that shows nothing of itself: one line at the window's foot. */
export interface Said {
  readonly kind: 'done' | 'failed'
  readonly text: string
  /** A way out, as a button beside the line. */
  readonly action?: { readonly name: string; readonly run: () => void }
}

/** A line about something that went well goes away by itself. */
const DONE_MS = 6000

class SaidLine {
  now = $state.raw<Said | null>(null)
  #timer: ReturnType<typeof setTimeout> | undefined

  say(said: Said): void {
    clearTimeout(this.#timer)
    this.now = said
    if (said.kind === 'done') this.#timer = setTimeout(() => this.clear(), DONE_MS)
  }

  clear(): void {
    clearTimeout(this.#timer)
    this.now = null
  }
}

export const said = new SaidLine()
