import type { PictureSetting } from '../picture/model.ts'
import { privateKind } from './private-names.ts'

/** Settings that differ between two sheets. */
export interface ChangedSettings {
  readonly shown: readonly PictureSetting[]
  /** How many more differ, but tell who, where or with which device. */
  readonly hidden: number
}

/** `name = value`, `set name = value` and `name: value` lines of a sheet, in order; the last of a name counts. */
export function settingsOf(text: string): Map<string, string> {
  const settings = new Map<string, string>()
  for (const line of text.split(/\r\n|\r|\n/)) {
    if (/^\s*(?:#|;|\/\/)/.test(line)) continue
    const found = /^\s*(?:set\s+)?([^=:]*[^=:\s])\s*[=:]\s*(.*?)\s*$/.exec(line)
    if (found) settings.set(found[1] as string, found[2] as string)
  }
  return settings
}

/**
 * What differs between the settings sheets of A and B, in A's order, then what only B has. Null when either has no
 * sheet: nothing is known then.
 */
export function changedSettings(a: string | null, b: string | null): ChangedSettings | null {
  if (a === null || b === null) return null
  const before = settingsOf(a)
  const after = settingsOf(b)
  const differing = [...new Set([...before.keys(), ...after.keys()])]
    .map((name): PictureSetting => ({ name, a: before.get(name) ?? null, b: after.get(name) ?? null }))
    .filter((setting) => setting.a !== setting.b)
  const shown = differing.filter(
    ({ name, a, b }) => privateKind(name, a ?? '') === null && privateKind(name, b ?? '') === null,
  )
  return { shown, hidden: differing.length - shown.length }
}
