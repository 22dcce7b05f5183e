import { isoSeconds } from '../clock/iso-stamp.ts'
import type { Dialect, PreambleEntry } from '../log/log.ts'
import { Problem } from '../log/problems.ts'
import { cellNumber } from './cell.ts'
import { isUnitWord } from './unit-words.ts'
import { splitLine } from './split-line.ts'

/** A table as the first look at its text shows it. */
export interface TableShape {
  readonly dialect: Omit<Dialect, 'compression'>
  /** One name per column, as written; 'Column 3' and the like where the file gives none. */
  readonly names: readonly string[]
  /** One text per column from a row of units under the header; '' where there is none. */
  readonly unitTexts: readonly string[]
  readonly preamble: readonly PreambleEntry[]
  /** Every row ends with one more separator than the columns need. */
  readonly trailingSeparator: boolean
  /** Line numbers of the header and the units, from 1, whose repeats among the rows are to be recognised. */
  readonly headLines: readonly number[]
  /** '\r' only in files whose lines end with nothing else. */
  readonly newline: '\n' | '\r'
}

const SEPARATORS = [',', ';', '\t', '|', ' '] as const
/** Enough for a long preamble, few enough to try nine dialects in a few milliseconds. */
const MAX_LINES = 3000
const COMMENT = /^\s*(?:#+|\/\/+|%+)\s?/

/**
 * Finds separator, decimal sign, header and first row in the beginning of a text.
 * The dialect is the one that turns the longest stretch of lines into the most number cells.
 * @param head the file's beginning without a byte order mark
 * @param complete whether `head` is the whole file; otherwise its last line is taken as cut
 * @param file for the sentence of a Problem
 * @throws Problem empty-file, no-columns, too-short
 */
export function sniffTable(head: string, complete: boolean, file: string): TableShape {
  const newline = !head.includes('\n') && head.includes('\r') ? '\r' : '\n'
  const all = head.split(newline, MAX_LINES + 1)
  if (!complete || all.length > MAX_LINES) all.pop()
  if (all.length === 0) {
    throw new Problem('not-text', `${file}: its first line is longer than any line of a log.`, {
      file,
      line: 1,
    })
  }
  const lines = all.map((line) => (newline === '\n' && line.endsWith('\r') ? line.slice(0, -1) : line))
  if (lines.every((line) => line.trim() === '')) {
    throw new Problem('empty-file', `${file} holds no text.`, { file })
  }
  const best = bestDialect(lines)
  if (!best) throw noRows(lines, file)
  return shapeOf(lines, best, newline)
}

interface Candidate {
  separator: Dialect['separator']
  decimal: Dialect['decimal']
  /** Cells a row. */
  cells: number
  /** Index of the first row's line. */
  start: number
  score: number
  /** All rows end with an empty cell. */
  emptyLast: boolean
}

function bestDialect(lines: readonly string[]): Candidate | null {
  let best: Candidate | null = null
  for (const separator of SEPARATORS) {
    for (const decimal of separator === ',' ? (['.'] as const) : (['.', ','] as const)) {
      const candidate = bestRows(lines, separator, decimal)
      if (candidate && (!best || candidate.score > best.score * 1.0001)) best = candidate
    }
  }
  return best
}

/** The rows of one cell count that hold the most number cells when the lines are split this way. */
function bestRows(
  lines: readonly string[],
  separator: Dialect['separator'],
  decimal: Dialect['decimal'],
): Candidate | null {
  const groups = new Map<number, Group>()
  for (let index = 0; index < lines.length; index += 1) {
    const line = lines[index] ?? ''
    if (line.trim() === '' || COMMENT.test(line)) continue
    const cells = splitLine(line, separator)
    const { numbers, filled } = countNumbers(cells, decimal)
    if (numbers === 0 || numbers * 3 < filled) continue
    let group = groups.get(cells.length)
    if (!group) groups.set(cells.length, (group = { rows: [], numbers: 0, filled: 0, emptyLast: true }))
    group.rows.push({ index, numbers })
    group.numbers += numbers
    group.filled += filled
    if (cells[cells.length - 1] !== '') group.emptyLast = false
  }
  const lastLine = lines.findLastIndex((line) => line.trim() !== '')
  let best: Candidate | null = null
  for (const [cells, group] of groups) {
    // Number cells weighted by their share: a wrong separator leaves cells that are no numbers.
    let score = (group.numbers * group.numbers) / group.filled
    // A table runs to the end; a long list of settings above a short table does not.
    if ((group.rows.at(-1)?.index ?? 0) >= lastLine - 3) score *= 20
    if (best && score <= best.score) continue
    // A preamble's `name,value` line has as many cells as a table of two columns, but fewer numbers than its rows.
    const usual = group.numbers / group.rows.length
    const start = group.rows.find((row) => row.numbers >= 0.8 * usual)?.index ?? 0
    best = { separator, decimal, cells, start, score, emptyLast: group.emptyLast }
  }
  return best
}

interface Group {
  rows: { index: number; numbers: number }[]
  numbers: number
  filled: number
  emptyLast: boolean
}

const NO_NUMBER = /^(?:[+-]?nan|null|n\/?a)$/i

/** Cells that hold something, and of these the numbers, dates and times. */
function countNumbers(
  cells: readonly string[],
  decimal: Dialect['decimal'],
): { numbers: number; filled: number } {
  let numbers = 0
  let filled = 0
  for (const cell of cells) {
    if (cell === '') continue
    filled += 1
    const value = cellNumber(cell, decimal)
    // "nan" stands where a number would; "-" and "none" stand in rows of units, too.
    if (value === null ? isoSeconds(cell) !== null : !Number.isNaN(value) || NO_NUMBER.test(cell))
      numbers += 1
  }
  return { numbers, filled }
}

function noRows(lines: readonly string[], file: string): Problem {
  const wide = lines.some((line) => SEPARATORS.some((separator) => splitLine(line, separator).length >= 2))
  return wide && lines.filter((line) => line.trim() !== '').length <= 3
    ? new Problem('too-short', `${file} holds a header but no rows of numbers.`, { file })
    : new Problem('no-columns', `${file} holds no rows of numbers in columns.`, { file })
}

function shapeOf(lines: readonly string[], rows: Candidate, newline: '\n' | '\r'): TableShape {
  const { separator, decimal } = rows
  const fits = (cells: readonly string[]): boolean =>
    cells.length === rows.cells ||
    (cells.length === rows.cells + 1 && cells[rows.cells] === '') ||
    (rows.emptyLast && cells.length === rows.cells - 1)
  const above: { index: number; cells: string[] }[] = []
  let start = rows.start
  for (let index = start - 1; index >= 0 && above.length < 2; index -= 1) {
    const line = lines[index] ?? ''
    if (line.trim() === '') continue
    const cells = splitLine(line.replace(COMMENT, ''), separator)
    const { numbers, filled } = countNumbers(cells, decimal)
    // Half numbers: no header but a damaged row, which the reader is to report as such.
    if (above.length === 0 && fits(cells) && numbers * 2 >= filled && numbers > 1) start = index
    else above.push({ index, cells })
  }
  let header = above[0] && fits(above[0].cells) ? above[0] : null
  let units: typeof header = null
  if (header && isUnitsRow(header.cells) && above[1] && fits(above[1].cells)) {
    units = header
    header = above[1]
  }
  const lastName = header ? (header.cells[rows.cells - 1] ?? '') : ''
  const trailingSeparator = rows.emptyLast && rows.cells > 1 && lastName === ''
  const count = trailingSeparator ? rows.cells - 1 : rows.cells
  return {
    dialect: {
      separator,
      decimal,
      headerLine: header ? header.index + 1 : 0,
      firstDataLine: start + 1,
    },
    names: Array.from({ length: count }, (_, column) => header?.cells[column] || `Column ${column + 1}`),
    unitTexts: Array.from({ length: count }, (_, column) => units?.cells[column] ?? ''),
    preamble: readPreamble(lines.slice(0, header ? header.index : start), separator),
    trailingSeparator,
    headLines: [header, units].flatMap((line) => (line ? [line.index + 1] : [])),
    newline,
  }
}

function isUnitsRow(cells: readonly string[]): boolean {
  const filled = cells.filter((cell) => cell !== '' && cell !== '-')
  if (filled.length === 0) return false
  return filled.filter(isUnitWord).length * 2 > filled.length
}

const NAMED = /^\s*([^=:]{1,120}?)\s*(?:=|:)\s*(.*?)\s*$/

/** `name = value`, `name: value` and `name<separator>value` lines; other lines are kept with an empty name. */
function readPreamble(lines: readonly string[], separator: Dialect['separator']): PreambleEntry[] {
  const entries: PreambleEntry[] = []
  for (const line of lines) {
    const bare = line.replace(COMMENT, '').trim()
    if (bare === '') continue
    const cells = separator === ' ' ? [] : splitLine(bare, separator)
    const filled = cells.filter((cell, index) => cell !== '' || index < 2)
    const named = NAMED.exec(bare)
    if (filled.length === 2) entries.push({ name: filled[0] ?? '', value: filled[1] ?? '' })
    else if (named) entries.push({ name: unquoted(named[1] ?? ''), value: unquoted(named[2] ?? '') })
    else entries.push({ name: '', value: bare })
  }
  return entries
}

function unquoted(text: string): string {
  return text.replace(/^"(.*)"$/, '$1')
}
