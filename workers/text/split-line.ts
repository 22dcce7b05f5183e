import type { Dialect } from '../log/log.ts'
import { bareCell } from './cell.ts'

/**
 * Splits one line into bare cells. Quotes protect separators; a run of spaces is one separator when the separator is
 * a space. For the header and the first look only: rows are read by the byte parser.
 */
export function splitLine(line: string, separator: Dialect['separator']): string[] {
  if (separator === ' ') return splitAtSpaces(line)
  if (!line.includes('"')) return line.split(separator).map(bareCell)
  const cells: string[] = []
  let start = 0
  let quoted = false
  for (let at = 0; at <= line.length; at += 1) {
    if (at < line.length && line[at] === '"') quoted = !quoted
    else if (at === line.length || (!quoted && line[at] === separator)) {
      cells.push(bareCell(line.slice(start, at)))
      start = at + 1
    }
  }
  return cells
}

function splitAtSpaces(line: string): string[] {
  const found = line.match(/(?:"(?:[^"]|"")*"|[^ \r])+/g)
  return found ? found.map(bareCell) : ['']
}
