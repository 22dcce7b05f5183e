import type { PreambleEntry } from '../log/log.ts'
import { isRecordName } from './names.ts'
import { parseSheet } from './parse-sheet.ts'
import type { Setting, SettingsSheet } from './sheet.ts'

/** The settings in force during a flight, and where they are from. */
export interface FlightSheet {
  readonly settings: readonly Setting[]
  /** The sheet as read; null when the settings stand in the log's own first lines. */
  readonly sheet: SettingsSheet | null
  /** Where they were found, in words; '' when there are none. */
  readonly from: string
}

/**
 * A flight's settings: the sheet that was kept with it, else what the lines above its table say, less what those tell of
 * the record itself (date, craft).
 */
export function sheetOfFlight(flight: {
  readonly settings: { readonly name: string; readonly text: string } | null
  readonly preamble: readonly PreambleEntry[]
}): FlightSheet {
  if (flight.settings) {
    const sheet = parseSheet(flight.settings.text)
    return { settings: sheet.settings, sheet, from: flight.settings.name }
  }
  const settings = flight.preamble
    .filter(({ name }) => name.trim() !== '' && !isRecordName(name))
    .map(({ name, value }): Setting => ({ name: name.trim(), value: value.trim(), line: 0 }))
  return { settings, sheet: null, from: settings.length > 0 ? "the lines above the log's table" : '' }
}
