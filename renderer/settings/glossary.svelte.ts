import type { Glossary, GlossaryEntry } from '../../workers/settings/glossary.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call } from '../desk/client.ts'

/** What the pilot noted about settings; kept by the desk, one for all crafts. */
class GlossaryState {
  entries = $state.raw<Glossary>([])
  problem = $state('')
  #loaded = false

  /** Fetches the glossary once. */
  async load(): Promise<void> {
    if (this.#loaded) return
    this.#loaded = true
    await this.#orSay(async () => void (this.entries = (await call('glossary.get', {})).glossary))
  }

  /** Keeps another glossary; it can be undone. `name` follows "Undo". */
  async change(entries: Glossary, name: string): Promise<void> {
    const before = this.entries
    await this.#orSay(async () => {
      await this.#keep(entries)
      undoStack.did({ name, undo: () => this.#keep(before), redo: () => this.#keep(entries) })
    })
  }

  /** Adds entries; those with the same pattern take the place of what was there. */
  merged(entries: readonly GlossaryEntry[]): Glossary {
    const byPattern = new Map([...this.entries, ...entries].map((entry) => [entry.pattern, entry]))
    return [...byPattern.values()]
  }

  async #keep(entries: Glossary): Promise<void> {
    await call('glossary.set', { glossary: [...entries] })
    this.entries = entries
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    this.problem = ''
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = error.message
    }
  }
}

export const glossary = new GlossaryState()
