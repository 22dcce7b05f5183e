import type { PictureSetting } from '../picture/model.ts'
import { compareSheets } from '../settings/compare-sheets.ts'
import type { Setting } from '../settings/sheet.ts'
import { privateKind } from './private-names.ts'

/** Settings that differ between two sheets, as they may be shared. */
export interface ChangedSettings {
  readonly shown: readonly PictureSetting[]
  /** How many more differ, but may tell who, where or with which device. */
  readonly hidden: number
}

/**
 * What differs between the settings of A and B: changed, then added, then removed. Null when either has none: nothing
 * is known then. What tells of the record only (dates, flight numbers) is counted with what is hidden.
 */
export function changedSettings(a: readonly Setting[], b: readonly Setting[]): ChangedSettings | null {
  if (a.length === 0 || b.length === 0) return null
  const { changed, added, removed, record } = compareSheets(a, b)
  const differing: PictureSetting[] = [
    ...changed.map(({ name, a: before, b: after }) => ({ name, a: before, b: after })),
    ...added.map(({ name, value }) => ({ name, a: null, b: value })),
    ...removed.map(({ name, value }) => ({ name, a: value, b: null })),
  ]
  const shown = differing.filter(
    ({ name, a: before, b: after }) =>
      privateKind(name, before ?? '') === null && privateKind(name, after ?? '') === null,
  )
  return { shown, hidden: differing.length - shown.length + record.length }
}
