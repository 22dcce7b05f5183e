/** The theme in force: as the system has it, unless the pilot chose otherwise. */
export type ThemeChoice = 'system' | 'light' | 'dark'

const system = window.matchMedia('(prefers-color-scheme: dark)')

class Theme {
  choice = $state<ThemeChoice>('system')
  #systemIsDark = $state(system.matches)
  readonly current: 'light' | 'dark' = $derived(
    this.choice === 'system' ? (this.#systemIsDark ? 'dark' : 'light') : this.choice,
  )

  constructor() {
    system.addEventListener('change', (event) => (this.#systemIsDark = event.matches))
  }

  readonly #tokens = new Map<string, string>()

  /**
   * The value of a token from tokens.css, for canvases, which can't use CSS variables. Read once a theme: asking the
   * browser makes it bring all styles up to date.
   */
  token(name: string): string {
    const key = `${document.documentElement.dataset['theme']} ${name}`
    const known = this.#tokens.get(key)
    if (known !== undefined) return known
    const value = getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim()
    this.#tokens.set(key, value)
    return value
  }
}

export const theme = new Theme()
