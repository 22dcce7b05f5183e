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

  /** The value of a token from tokens.css, for canvases, which can't use CSS variables. */
  token(name: string): string {
    return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim()
  }
}

export const theme = new Theme()
