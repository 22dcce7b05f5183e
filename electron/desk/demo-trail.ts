import type { FlightOfChange } from '../../workers/changes/change.ts'
import { changedValues } from '../../workers/changes/trail.ts'
import { compareSheets } from '../../workers/settings/compare-sheets.ts'
import { parseSheet } from '../../workers/settings/parse-sheet.ts'
import type { Setting } from '../../workers/settings/sheet.ts'
import { thingsChanged } from '../../workers/settings/things-changed.ts'
import type { Library } from '../library/library.ts'
import type { DemoMessage } from './demo.worker.ts'

/** Fills the demo craft's trail: what was changed from flight to flight, by their sheets. Not judged: that is the pilot's. */
export class DemoTrail {
  readonly #library: Library
  #before: { flight: FlightOfChange; settings: readonly Setting[] } | null = null

  constructor(library: Library) {
    this.#library = library
  }

  /** Takes the next flight, in order; a change that is there from a run that was broken off stays as it is. */
  add(flightId: number, { order, craft, title, settingsText, changeNote, expectation }: DemoMessage): void {
    const { contentHash, flownAt_ms } = this.#library.get(flightId)
    const flight = { flightId, contentHash, name: title, flownAt_ms }
    const { settings } = parseSheet(settingsText)
    const before = this.#before
    this.#before = { flight, settings }
    const id = `demo-${order}`
    if (!before || this.#library.changes.list(craft).some((change) => change.id === id)) return
    const comparison = compareSheets(before.settings, settings)
    this.#library.changes.put({
      id,
      craft,
      madeAt_ms: flownAt_ms ?? Date.now(),
      what: thingsChanged(comparison)
        .map(({ words }) => words)
        .join('; '),
      settings: changedValues(comparison),
      why: changeNote,
      expectation,
      note: '',
      before: [before.flight],
      after: [flight],
      verdict: null,
      earlier: [],
      undone: null,
      takesBack: null,
      best: false,
    })
  }
}
