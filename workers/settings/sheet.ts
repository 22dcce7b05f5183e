/** One setting as it stands in a sheet. */
export interface Setting {
  /** With its section or parents before it, apart by dots; as written otherwise. */
  readonly name: string
  /** As written, without the quotes around it and the comment behind it. */
  readonly value: string
  /** Line of the sheet's text, from 1; of a JSON text 0. */
  readonly line: number
}

/** A settings sheet as read: what was understood, and what was not. */
export interface SettingsSheet {
  readonly style: 'JSON' | 'lines' | 'delimited'
  /** In the order of the sheet; a name stands once, with its last value. */
  readonly settings: readonly Setting[]
  /** Names that came more than once: the last value holds. */
  readonly repeated: readonly string[]
  /** Lines that say no setting. */
  readonly unread: readonly { readonly line: number; readonly text: string }[]
}

/** Keeps the last of each name, in the place of the first. */
export function withoutRepeats(settings: readonly Setting[]): Pick<SettingsSheet, 'settings' | 'repeated'> {
  const byName = new Map<string, Setting>()
  const repeated = new Set<string>()
  for (const setting of settings) {
    if (byName.has(setting.name)) repeated.add(setting.name)
    byName.set(setting.name, setting)
  }
  return { settings: [...byName.values()], repeated: [...repeated] }
}
