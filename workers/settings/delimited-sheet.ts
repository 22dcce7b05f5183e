import { findOutside, unquoted } from './quotes.ts'
import type { Setting, SettingsSheet } from './sheet.ts'

const DELIMITERS = [',', ';', '\t', '|'] as const
export type Delimiter = (typeof DELIMITERS)[number]

/** Of the lines that say something, so many must have the delimiter before any `=` or colon. */
const MOST_LINES = 0.8
const NAME_HEAD = /^(?:name|names|setting|settings|parameter|param|key|variable)$/i
const VALUE_HEAD = /^(?:value|values|setting|val|current)$/i

/** A comment has a line to itself here: signs inside a line may be the table's own. */
const isEmpty = (line: string) => /^\s*(?:#|\/\/|$)/.test(line)

/** The delimiter of a table with a name in the first column, or null when the text is none. */
export function delimiterOf(lines: readonly string[]): Delimiter | null {
  const full = lines.filter((line) => !isEmpty(line))
  if (full.length === 0) return null
  for (const delimiter of DELIMITERS) {
    const fitting = full.filter((line) => {
      const at = findOutside(line, (character) => character === delimiter)
      // Nothing before it, or only blanks behind it: a comment's sign or a line's end.
      if (line.slice(0, Math.max(0, at)).trim() === '' || line.slice(at + 1).trim() === '') return false
      const other = findOutside(line, (character) => character === '=' || character === ':')
      return other < 0 || at < other
    })
    if (fitting.length >= MOST_LINES * full.length) return delimiter
  }
  return null
}

/** Reads a table of names and values; a value goes on to the line's end, so that it may be a list. */
export function readDelimited(
  lines: readonly string[],
  delimiter: Delimiter,
): Pick<SettingsSheet, 'settings' | 'unread'> {
  const settings: Setting[] = []
  const unread: { line: number; text: string }[] = []
  let isFirst = true
  for (const [index, line] of lines.entries()) {
    if (isEmpty(line)) continue
    const at = findOutside(line, (character) => character === delimiter)
    const name = unquoted(line.slice(0, Math.max(0, at)))
    const value = unquoted(line.slice(at + 1))
    const isHead = isFirst && NAME_HEAD.test(name) && VALUE_HEAD.test(value.split(delimiter)[0]?.trim() ?? '')
    isFirst = false
    if (isHead) continue
    if (at < 0 || name === '') unread.push({ line: index + 1, text: line.trim() })
    else settings.push({ name, value, line: index + 1 })
  }
  return { settings, unread }
}
