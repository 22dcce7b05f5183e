import { parseSheet } from '../settings/parse-sheet.ts'
import type { PictureSetting } from '../picture/model.ts'
import { privateKind } from './private-names.ts'

/** Settings that differ between two sheets. */
export interface ChangedSettings {
  readonly shown: readonly PictureSetting[]
  /** How many more differ, but tell who, where or with which device. */
  readonly hidden: number
}

/** A sheet's settings by name, in order; the last of a name counts. Any writing that `parseSheet` reads. */
export function settingsOf(text: string): Map<string, string> {
  return new Map(parseSheet(text).settings.map(({ name, value }) => [name, value]))
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
