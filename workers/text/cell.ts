/**
 * What one cell of a delimited text says. The slow, plain reading: the byte parser falls back to it for every cell
 * that is not a short plain decimal, so that both agree by construction.
 */

/** Words that loggers write for "no value". */
const MISSING = new Set(['nan', 'na', 'n/a', 'null', 'none', 'nil', '-', '--', '+nan', '-nan'])
const PLAIN = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/
const COMMA = /^[+-]?(?:\d+(?:,\d+)?|,\d+)(?:[eE][+-]?\d+)?$/
const INFINITE = /^([+-]?)inf(?:inity)?$/i

/** Takes the spaces and one pair of quotes off a cell; doubled quotes inside become one. */
export function bareCell(text: string): string {
  const trimmed = trimSpaces(text)
  if (trimmed.length < 2 || !trimmed.startsWith('"') || !trimmed.endsWith('"')) return trimmed
  return trimSpaces(trimmed.slice(1, -1).replaceAll('""', '"'))
}

/** Spaces only: a tab may be the separator of another dialect, so it never vanishes. */
function trimSpaces(text: string): string {
  let start = 0
  let end = text.length
  while (start < end && (text[start] === ' ' || text[start] === '\r')) start += 1
  while (end > start && (text[end - 1] === ' ' || text[end - 1] === '\r')) end -= 1
  return text.slice(start, end)
}

/**
 * The number that a bare cell says: the double nearest to its decimal text; NaN for an empty cell or a word for
 * "no value"; infinities as written in words. Null when the cell holds anything else, including a number beyond the
 * largest double and hexadecimal integers.
 */
export function cellNumber(bare: string, decimal: '.' | ','): number | null {
  if (bare === '') return NaN
  if (decimal === '.' ? PLAIN.test(bare) : COMMA.test(bare)) {
    const value = Number(decimal === '.' ? bare : bare.replace(',', '.'))
    return Number.isFinite(value) ? value : null
  }
  if (MISSING.has(bare.toLowerCase())) return NaN
  const infinite = INFINITE.exec(bare)
  if (infinite) return infinite[1] === '-' ? -Infinity : Infinity
  return null
}

/** Why a cell for which cellNumber gave null is no number: the end of a sentence. */
export function whyNoNumber(bare: string): string {
  const shown = bare.length > 40 ? `${bare.slice(0, 40)}...` : bare
  const visible = JSON.stringify(shown)
  if (/^[+-]?0x[0-9a-f]+$/i.test(bare)) return `${visible} is hexadecimal, and only decimal numbers are read`
  if (bare.includes('\0')) return 'there are zero bytes where a number should be'
  if (/^[+-]?[\d.,]+e[+]?\d+$/i.test(bare)) return `${visible} is larger than any number that can be stored`
  return `${visible} is not a number`
}
