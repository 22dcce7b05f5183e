import { findOutside, quotedLength, unquoted, withoutComment } from './quotes.ts'
import type { Setting, SettingsSheet } from './sheet.ts'

interface Parent {
  readonly indent: number
  readonly name: string
}

/** Reads `name = value`, `set name = value` and `name: value` lines, sections in brackets, and parents by indentation. */
export function readLines(lines: readonly string[]): Pick<SettingsSheet, 'settings' | 'unread'> {
  const settings: Setting[] = []
  const unread: { line: number; text: string }[] = []
  let section = ''
  let parents: Parent[] = []
  for (const [index, raw] of lines.entries()) {
    const text = withoutComment(raw)
    if (text.trim() === '') continue
    const line = index + 1
    const head = /^\s*\[([^[\]]*)\]\s*$/.exec(text)
    if (head) {
      section = unquoted(head[1] ?? '')
      parents = []
      continue
    }
    const found = splitLine(text.trim())
    if (!found || found.name === '') {
      unread.push({ line, text: raw.trim() })
      continue
    }
    const indent = text.length - text.trimStart().length
    parents = parents.filter((parent) => parent.indent < indent)
    const name = [section, ...parents.map((parent) => parent.name), found.name].filter(Boolean).join('.')
    if (found.opens && indentOfNext(lines, index) > indent) parents.push({ indent, name: found.name })
    else settings.push({ name, value: found.value, line })
  }
  return { settings, unread }
}

/** Blanks before the next line that says something; -1 at the end. */
function indentOfNext(lines: readonly string[], index: number): number {
  for (let next = index + 1; next < lines.length; next++) {
    const text = withoutComment(lines[next] as string)
    if (text.trim() !== '') return text.length - text.trimStart().length
  }
  return -1
}

/** @returns the name and the value; `opens` for a name with a colon and nothing behind it, which may be a parent */
function splitLine(text: string): { name: string; value: string; opens: boolean } | null {
  const set = /^set\s+(?=\S)(?![=:])/i.exec(text)
  const rest = set ? text.slice(set[0].length) : text
  const at = separatorIn(rest)
  if (at < 0) return set ? splitAtBlank(rest) : null
  const isColon = rest[at] === ':' && rest[at + 1] !== '='
  const end = at + (rest.startsWith(':=', at) ? 2 : 1)
  const written = rest.slice(end).trim()
  const name = unquoted(rest.slice(0, at))
  return { name, value: valueOf(written), opens: isColon && written === '' }
}

/** The first `=`, or the first colon before a blank; any other colon only where there is neither. */
function separatorIn(text: string): number {
  const clear = findOutside(
    text,
    (character, at) =>
      character === '=' ||
      (character === ':' && (at + 1 === text.length || /[\s=]/.test(text[at + 1] as string))),
  )
  return clear >= 0 ? clear : findOutside(text, (character) => character === ':')
}

/** `set name value`, without a sign between. */
function splitAtBlank(text: string): { name: string; value: string; opens: boolean } | null {
  const length = quotedLength(text, 0) || text.search(/\s/)
  const value = length < 0 ? '' : text.slice(length).trim()
  return value === '' ? null : { name: unquoted(text.slice(0, length)), value: valueOf(value), opens: false }
}

/** Some write a semicolon or a comma after every value. */
function valueOf(written: string): string {
  return unquoted(
    /[;,]$/.test(written) && quotedLength(written, 0) !== written.length ? written.slice(0, -1) : written,
  )
}
