import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import { compareSheets, isSame, type SheetComparison } from '../../workers/settings/compare-sheets.ts'
import { sheetOfFlight, type FlightSheet } from '../../workers/settings/sheet-of-flight.ts'
import { thingsChanged, type ThingChanged } from '../../workers/settings/things-changed.ts'
import { warningsFor, type SheetWarning } from '../../workers/settings/warnings.ts'
import { glossary } from './glossary.svelte.ts'

/** What two flights' settings differ by. */
export class SheetPair {
  readonly a: FlightSheet
  readonly b: FlightSheet
  readonly comparison: SheetComparison
  readonly things: readonly ThingChanged[]
  /** Follows the glossary. */
  readonly warnings: readonly SheetWarning[] = $derived.by(() =>
    this.complete ? warningsFor(this.comparison, glossary.entries) : [],
  )

  constructor(a: FlightDetail, b: FlightDetail) {
    this.a = sheetOfFlight(a)
    this.b = sheetOfFlight(b)
    this.comparison = compareSheets(this.a.settings, this.b.settings)
    this.things = thingsChanged(this.comparison)
  }

  /** Both flights have settings. */
  get complete(): boolean {
    return this.a.settings.length > 0 && this.b.settings.length > 0
  }

  /** "2 settings changed, 1 caution"; why nothing can be said, where it can't. */
  get words(): string {
    if (!this.complete) {
      const lacking = [this.a, this.b].filter(({ settings }) => settings.length === 0).length
      return lacking === 2
        ? 'No settings kept'
        : `No settings kept of ${this.a.settings.length === 0 ? 'A' : 'B'}`
    }
    if (isSame(this.comparison)) return 'Same settings'
    const { changed, added, removed } = this.comparison
    const count = changed.length + added.length + removed.length
    const cautions = this.warnings.filter(({ level }) => level !== 'note').length
    return `${count} ${count === 1 ? 'setting' : 'settings'} changed${cautions > 0 ? `, ${cautions} to check` : ''}`
  }
}
