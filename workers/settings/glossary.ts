import { keyOfName } from './names.ts'
import { readValue } from './values.ts'

/** What the pilot says of settings whose names fit a pattern. */
export interface GlossaryEntry {
  /** A setting's name; `*` stands for any part of it. Case, blanks, dots and underscores do not matter. */
  readonly pattern: string
  readonly meaning: string
  /** The unit the value is in; '' when it has none. */
  readonly unit: string
  /** The sensible range, ends included; null where there is no end. */
  readonly low: number | null
  readonly high: number | null
}
export type Glossary = readonly GlossaryEntry[]

/** The entry for a setting: of those that fit, the one that says most of the name; the first of equals. Null when none fits. */
export function entryFor(glossary: Glossary, name: string): GlossaryEntry | null {
  const key = keyOfName(name)
  let best: GlossaryEntry | null = null
  for (const entry of glossary) {
    if (fits(entry.pattern, key) && (!best || weight(entry.pattern) > weight(best.pattern))) best = entry
  }
  return best
}

const weight = (pattern: string) => keyOfName(pattern).length + (pattern.includes('*') ? 0 : 0.5)

/** Star by star, each piece at the first place where it comes: no pattern makes this slow. */
function fits(pattern: string, key: string): boolean {
  const pieces = pattern.split('*').map(keyOfName)
  const first = pieces[0] as string
  const last = pieces.at(-1) as string
  if (pieces.length === 1) return first !== '' && first === key
  if (pieces.every((piece) => piece === '')) return true
  if (!key.startsWith(first)) return false
  let at = first.length
  for (const piece of pieces.slice(1, -1)) {
    const found = key.indexOf(piece, at)
    if (found < 0) return false
    at = found + piece.length
  }
  return key.length - last.length >= at && key.endsWith(last)
}

/** How a value lies outside the range of its entry, in words; null when it lies inside or is no number. */
export function outOfRange(entry: GlossaryEntry, value: string): string | null {
  const read = readValue(value)
  const numbers = read.kind === 'number' ? [read.number] : read.kind === 'list' ? read.numbers : []
  const { low, high, unit } = entry
  // 'below 10 to 60 rpm', but 'below 10 rpm' where there is no other end.
  const range = low !== null && high !== null ? rangeInWords(entry) : `${low ?? high}${unit && ` ${unit}`}`
  if (numbers.some((number) => low !== null && number < low)) return `below ${range}`
  if (numbers.some((number) => high !== null && number > high)) return `above ${range}`
  return null
}

/** "10 to 60 hundreds of rpm" */
export function rangeInWords({ low, high, unit }: GlossaryEntry): string {
  const ends =
    low !== null && high !== null
      ? `${low} to ${high}`
      : low !== null
        ? `${low} or more`
        : high !== null
          ? `${high} or less`
          : ''
  return ends && unit ? `${ends} ${unit}` : ends
}

const HEAD = `# Glossary of settings. One a line, parts apart by bars:
# name or pattern (* for any part) | meaning | unit | from | to`

/** A glossary as text that people read, edit and hand on. */
export function glossaryText(glossary: Glossary): string {
  const cell = (text: string) => oneLine(text).replaceAll('\\', '\\\\').replaceAll('|', '\\|')
  const lines = glossary.map(({ pattern, meaning, unit, low, high }) =>
    [cell(pattern), cell(meaning), cell(unit), low ?? '', high ?? ''].join(' | ').trimEnd(),
  )
  return [HEAD, ...lines.map((line) => (line.startsWith('#') ? `\\${line}` : line)), ''].join('\n')
}

export const oneLine = (text: string): string => text.replaceAll(/\s+/g, ' ').trim()

/** Reads such a text; what does not fit is told line by line. A pattern that comes twice holds as it stands last. */
export function readGlossary(text: string): { glossary: GlossaryEntry[]; faults: string[] } {
  const byPattern = new Map<string, GlossaryEntry>()
  const faults: string[] = []
  for (const [index, raw] of text
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/)
    .entries()) {
    const line = raw.trim()
    if (line === '' || line.startsWith('#')) continue
    const [pattern = '', meaning = '', unit = '', from = '', to = '', ...rest] = cells(line)
    const low = limit(from)
    const high = limit(to)
    if (pattern === '') faults.push(`Line ${index + 1} has no name.`)
    else if (rest.length > 0) faults.push(`Line ${index + 1} has more than five parts.`)
    else if (Number.isNaN(low) || Number.isNaN(high))
      faults.push(`Line ${index + 1}: the range must be numbers.`)
    else if (low !== null && high !== null && low > high)
      faults.push(`Line ${index + 1}: the range ends below its start.`)
    else byPattern.set(pattern, { pattern, meaning, unit, low, high })
  }
  return { glossary: [...byPattern.values()], faults }
}

/** Apart by bars; a backslash keeps the sign behind it. */
function cells(line: string): string[] {
  const parts = ['']
  for (let at = 0; at < line.length; at++) {
    const sign = line[at] as string
    if (sign === '\\' && at + 1 < line.length) parts[parts.length - 1] += line[++at] as string
    else if (sign === '|') parts.push('')
    else parts[parts.length - 1] += sign
  }
  return parts.map((part) => part.trim())
}

const limit = (text: string): number | null =>
  text === '' ? null : Number.isFinite(Number(text)) ? Number(text) : NaN
