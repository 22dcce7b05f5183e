import { readJsonSheet } from './json-sheet.ts'
import { readDelimited, delimiterOf } from './delimited-sheet.ts'
import { readLines } from './line-sheet.ts'
import { withoutRepeats, type SettingsSheet } from './sheet.ts'

/**
 * Reads any text of names and values: `name = value`, `set name = value`, `name: value` (nested by indentation too),
 * `name,value` and other delimiters, INI-like sections, JSON. Names and values are kept as written; comments (`#`, `;`, `//`
 * at a line's start or after a blank) are passed over; quotes keep what they hold. Nothing throws: what says no setting
 * stands in `unread`.
 */
export function parseSheet(text: string): SettingsSheet {
  const plain = text.replace(/^\uFEFF/, '')
  const json = readJsonSheet(plain)
  if (json) return { style: 'JSON', ...withoutRepeats(json), unread: [] }
  const lines = plain.split(/\r\n|\n|\r/)
  const delimiter = delimiterOf(lines)
  const read = delimiter ? readDelimited(lines, delimiter) : readLines(lines)
  return { style: delimiter ? 'delimited' : 'lines', ...withoutRepeats(read.settings), unread: read.unread }
}

/** Settings fewer than these, or mostly lines that say none, are some other text. */
const FEWEST = 2

/** Whether a text of unknown kind is a settings sheet: at least two settings, and more of them than lines that say none. */
export function looksLikeSheet(text: string): boolean {
  if (text.includes('\0')) return false
  const { settings, unread } = parseSheet(text)
  // A table of numbers reads as "1,2,3": its names would be numbers.
  const named = settings.filter(({ name }) => /\p{L}/u.test(name))
  return named.length >= FEWEST && named.length > unread.length + (settings.length - named.length)
}
