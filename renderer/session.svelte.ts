import { call } from './desk/client.ts'
import * as v from 'valibot'
import { undoStack } from './commands/undo.svelte.ts'
import { theme, type ThemeChoice } from './theme/theme.svelte.ts'
import { isProblem } from '../workers/log/problems.ts'

export const SCREENS = ['logbook', 'compare', 'verdict', 'frequency', 'moments', 'changes', 'share'] as const
export type Screen = (typeof SCREENS)[number]
/** Screens that need no pair of flights. */
const WITHOUT_PAIR: readonly Screen[] = ['logbook', 'moments', 'changes']

const keptSchema = v.object({
  screen: v.picklist(SCREENS),
  a: v.nullable(v.number()),
  b: v.nullable(v.number()),
  theme: v.picklist(['system', 'light', 'dark']),
})

interface Chosen {
  readonly a: number | null
  readonly b: number | null
}

/** Which screen is shown and which two flights are chosen; restored when the window opens again. */
class Session {
  screen = $state<Screen>('logbook')
  a = $state<number | null>(null)
  b = $state<number | null>(null)

  /** Makes a flight A or B; choosing it again lets go of it. The two are never the same flight. */
  choose(side: 'a' | 'b', flightId: number): void {
    const other = side === 'a' ? 'b' : 'a'
    const letsGo = this[side] === flightId
    const next: Chosen = {
      ...this.#chosen,
      [side]: letsGo ? null : flightId,
      ...(this[other] === flightId && { [other]: null }),
    }
    this.#changeTo(next, `${letsGo ? 'let go of' : 'choose'} flight ${side.toUpperCase()}`)
  }

  /** Makes a flight A or B again, as part of undoing something else. */
  take(side: 'a' | 'b', flightId: number): void {
    this[side] = flightId
    this.keep()
  }

  /** Chooses both and shows them side by side. */
  compare(a: number, b: number): void {
    if (this.a !== a || this.b !== b) this.#changeTo({ a, b }, 'choose a pair')
    this.show('compare')
  }

  swap(): void {
    this.#changeTo({ a: this.b, b: this.a }, 'swap A and B')
  }

  show(screen: Screen): void {
    this.screen = screen
    this.keep()
  }

  setTheme(choice: ThemeChoice): void {
    const before = theme.choice
    if (choice === before) return
    const take = (one: ThemeChoice) => {
      theme.choice = one
      this.keep()
    }
    take(choice)
    undoStack.did({ name: 'change the theme', undo: () => take(before), redo: () => take(choice) })
  }

  /** Lets go of flights that are no longer in the logbook. */
  letGo(known: ReadonlySet<number>): void {
    if (this.a !== null && !known.has(this.a)) this.a = null
    if (this.b !== null && !known.has(this.b)) this.b = null
    if (!WITHOUT_PAIR.includes(this.screen) && (this.a === null || this.b === null)) this.screen = 'logbook'
  }

  get #chosen(): Chosen {
    return { a: this.a, b: this.b }
  }

  #changeTo(next: Chosen, name: string): void {
    const before = this.#chosen
    const take = ({ a, b }: Chosen) => {
      this.a = a
      this.b = b
      if (!WITHOUT_PAIR.includes(this.screen) && (a === null || b === null)) this.screen = 'logbook'
      this.keep()
    }
    take(next)
    undoStack.did({ name, undo: () => take(before), redo: () => take(next) })
  }

  async restore(): Promise<void> {
    const { value } = await call('kept.get', { key: 'session' })
    if (!value) return
    const kept = v.safeParse(keptSchema, JSON.parse(value))
    // An older version's state that no longer fits is not worth a message: the window opens on the logbook.
    if (!kept.success) return
    this.screen = kept.output.screen
    this.a = kept.output.a
    this.b = kept.output.b
    theme.choice = kept.output.theme
  }

  keep(): void {
    const value = JSON.stringify({ screen: this.screen, a: this.a, b: this.b, theme: theme.choice })
    call('kept.set', { key: 'session', value }).catch((error: unknown) => {
      // Losing the restored view is no reason to interrupt the pilot; anything else is a fault of ours.
      if (!isProblem(error)) throw error
      console.warn(error.message)
    })
  }
}

export const session = new Session()
