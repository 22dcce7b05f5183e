import { compareSheets } from '../../workers/settings/compare-sheets.ts'
import { parseSheet } from '../../workers/settings/parse-sheet.ts'
import { thingsChanged } from '../../workers/settings/things-changed.ts'
import { warningsFor } from '../../workers/settings/warnings.ts'
import type { Glossary } from '../../workers/settings/glossary.ts'
import type { SettingsSheet } from '../../workers/settings/sheet.ts'
import type { Report } from './format.ts'

/** The settings of a flight; `unread` are the lines of its sheet that say none. */
export type ReportSheet = Pick<SettingsSheet, 'settings'> & { readonly unread: readonly unknown[] }

/** A settings sheet's text as read. */
export const sheetOf = (text: string): ReportSheet => parseSheet(text)

/** What differs between the sheets of A and B, and what to look at before flying B's. */
export function settingsReport(a: ReportSheet, b: ReportSheet, glossary: Glossary = []): Report['settings'] {
  const comparison = compareSheets(a.settings, b.settings)
  const { changed, added, removed, unchanged } = comparison
  return {
    changed: changed.map(({ name, a, b, number }) => ({
      name,
      a,
      b,
      difference: number?.difference ?? null,
      ratio: number?.ratio ?? null,
    })),
    added: added.map(({ name, value }) => ({ name, value })),
    removed: removed.map(({ name, value }) => ({ name, value })),
    unchanged,
    unread: { a: a.unread.length, b: b.unread.length },
    things: thingsChanged(comparison).map(({ words }) => words),
    warnings: warningsFor(comparison, glossary).map(({ names, ...rest }) => ({ ...rest, names: [...names] })),
  }
}
