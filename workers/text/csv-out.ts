/**
 * Tables as comma-separated text (RFC 4180): lines end in CRLF, a cell with a comma, quote or line break is quoted,
 * quotes are doubled.
 *
 * Text that a spreadsheet would run as a formula - it begins with = + - @, a tab or a return, also in their wide
 * forms - gets an apostrophe in front, inside quotes, as spreadsheets themselves mark text (common practice, no source).
 * Names and notes come from logs and are anybody's. A number stays a number, with its sign; so does text that is one.
 */

/** A cell: text, a number (not finite: empty), or nothing. */
export type CsvCell = string | number | null

export interface CsvTable {
  readonly head: readonly string[]
  readonly rows: readonly (readonly CsvCell[])[]
}

/** Enough for a number that was kept in 32 bits, without the digits that it never had. */
const DIGITS = 7

/** A table as CSV. Throws an Error when a row is not as wide as the head. */
export function csvText({ head, rows }: CsvTable): string {
  const lines = [head, ...rows].map((row) => {
    if (row.length !== head.length) throw new Error(`a row of ${row.length} cells under ${head.length} names`)
    return row.map(csvCell).join(',')
  })
  return `${lines.join('\r\n')}\r\n`
}

/** One cell as it is written. */
export function csvCell(cell: CsvCell): string {
  if (cell === null) return ''
  if (typeof cell === 'number') return numberText(cell)
  if (PLAIN_NUMBER.test(cell)) return cell
  const text = LIKE_FORMULA.test(cell) ? `'${cell}` : cell
  return text !== cell || /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

const PLAIN_NUMBER = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i
/** Blanks in front do not keep every spreadsheet from looking further. */
const LIKE_FORMULA = /^[\t\r]|^\s*[=+\-@＝＋－＠]/u

function numberText(value: number): string {
  if (!Number.isFinite(value)) return ''
  const rounded = Number(value.toPrecision(DIGITS))
  // Whole numbers keep all their digits: row counts and times in microseconds are longer than seven.
  return String(Number.isInteger(value) ? value : rounded === 0 ? 0 : rounded)
}
