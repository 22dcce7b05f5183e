import { call } from './desk/client.ts'
import * as v from 'valibot'
import { theme, type ThemeChoice } from './theme/theme.svelte.ts'
import { isProblem } from '../workers/log/problems.ts'

export const SCREENS = ['logbook', 'compare', 'verdict', 'frequency'] as const
export type Screen = (typeof SCREENS)[number]

const keptSchema = v.object({
  screen: v.picklist(SCREENS),
  a: v.nullable(v.number()),
  b: v.nullable(v.number()),
  theme: v.picklist(['system', 'light', 'dark']),
})

/** Which screen is shown and which two flights are chosen; restored when the window opens again. */
class Session {
  screen = $state<Screen>('logbook')
  a = $state<number | null>(null)
  b = $state<number | null>(null)

  /** Makes a flight A or B; choosing it again lets go of it. The two are never the same flight. */
  choose(side: 'a' | 'b', flightId: number): void {
    const other = side === 'a' ? 'b' : 'a'
    this[side] = this[side] === flightId ? null : flightId
    if (this[other] === flightId) this[other] = null
    this.keep()
  }

  swap(): void {
    ;[this.a, this.b] = [this.b, this.a]
    this.keep()
  }

  show(screen: Screen): void {
    this.screen = screen
    this.keep()
  }

  setTheme(choice: ThemeChoice): void {
    theme.choice = choice
    this.keep()
  }

  /** Lets go of flights that are no longer in the logbook. */
  letGo(known: ReadonlySet<number>): void {
    if (this.a !== null && !known.has(this.a)) this.a = null
    if (this.b !== null && !known.has(this.b)) this.b = null
    if (this.screen !== 'logbook' && (this.a === null || this.b === null)) this.screen = 'logbook'
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
