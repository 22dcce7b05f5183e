import { quantityOf, type Assignment, type Role } from '../columns/roles.ts'
import type { FlightSignals } from '../flight/signals.ts'
import type { LogColumn } from '../log/log.ts'
import { Problem } from '../log/problems.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { csvCell, type CsvCell } from '../text/csv-out.ts'
import { unitsFor } from '../units/units.ts'
import { privateKind, type PrivateKind } from './private-names.ts'

/** A column that an excerpt may hold. */
export interface ExcerptColumn {
  /** Names the column among those of its log, and again in the next log: a role, or the name in the log. */
  readonly key: string
  /** As the excerpt's header has it, unit included. */
  readonly head: string
  /** What it may tell of place, device, person or day; null when nothing shows. */
  readonly tells: PrivateKind | null
  /** In an excerpt unless the pilot says otherwise. */
  readonly usual: boolean
  /** What the flight's own numbers are multiplied by: shares are written in per cent. */
  readonly factor: number
  readonly source: { readonly role: Role } | { readonly column: number }
}

/** More cells than that are no small excerpt, and no forum would take it. */
export const MOST_CELLS = 4_000_000

/**
 * What an excerpt of a log can hold: first the columns with a meaning, in the program's units, then the other columns
 * as they stand in the log. Columns that may tell place, device, person or day are off until chosen; so are those
 * without a meaning, of which the program does not know what they tell. Text columns and clocks are none.
 */
export function excerptColumns(
  columns: readonly LogColumn[],
  assignments: readonly Assignment[],
): ExcerptColumn[] {
  const given = new Set(assignments.map(({ column }) => column))
  const meant = assignments
    .filter(({ role }) => role !== 'time')
    .map(({ role }): ExcerptColumn => {
      const { label, factor } = unitOf(role)
      const head = `${role.replace('.', ' ')} (${label})`
      return { key: role, head, tells: null, usual: true, factor, source: { role } }
    })
  const others = columns
    .filter(({ index, type }) => type !== 'text' && !given.has(index))
    .map(({ index, name }): ExcerptColumn => ({
      key: `as logged: ${name}`,
      head: `${name} (as logged)`,
      tells: privateKind(name),
      usual: false,
      factor: 1,
      source: { column: index },
    }))
  return [...meant, ...others]
}

/** The unit that samples of a role are written in: the one they have on reading, or per cent of a whole. */
function unitOf(role: Role): { readonly label: string; readonly factor: number } {
  const canonical = unitsFor(quantityOf(role)).find(({ scale, offset }) => scale === 1 && offset === 0)
  if (!canonical) throw new Error(`${role} has no canonical unit`)
  return canonical.label.includes('..1') ? { label: '%', factor: 100 } : { label: canonical.label, factor: 1 }
}

/** One flight's part of an excerpt. */
export interface ExcerptRequest {
  readonly signals: FlightSignals
  readonly columns: readonly ExcerptColumn[]
  /** Values of the columns without a meaning, by their index in the log; as many as the flight has samples. */
  readonly raw: ReadonlyMap<number, ArrayLike<number>>
  /** On the flight's own clock. */
  readonly t0_s: number
  readonly t1_s: number
}

/** Rows and cells that an excerpt would have. */
export function excerptSize({ signals, columns, t0_s, t1_s }: Omit<ExcerptRequest, 'raw'>): {
  readonly rows: number
  readonly cells: number
} {
  const rows = Math.max(0, firstAfter(signals.t_s, t1_s) - firstAtOrAfter(signals.t_s, t0_s))
  return { rows, cells: rows * (columns.length + 1) }
}

/** Rows that are put into text at a time. */
const ROWS_AT_ONCE = 2000

/**
 * An excerpt as CSV, in pieces: the flight's own clock in seconds since its first sample (no day, no hour), then the
 * columns, each with its unit in the header. Samples as recorded, both ends of the span included; NaN is an empty cell.
 * @throws Problem too-large, too-short when no sample lies in the span; Error for a column without values
 */
export function* excerptCsv(request: ExcerptRequest): Generator<string> {
  const { signals, columns, raw, t0_s } = request
  const { rows, cells } = excerptSize(request)
  if (rows === 0) throw new Problem('too-short', 'The flight has no samples in the chosen span.')
  if (cells > MOST_CELLS)
    throw new Problem(
      'too-large',
      `${rows} rows with ${columns.length + 1} columns are no small excerpt: choose a shorter span or fewer columns.`,
    )
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const values = columns.map(({ source, head, factor }) => {
    const own = 'role' in source ? signals.channels[source.role as never] : raw.get(source.column)
    if (own === undefined) throw new Error(`no values for the column ${head}`)
    return { own: own as ArrayLike<number>, factor }
  })
  const line = (row: readonly CsvCell[]): string => `${row.map(csvCell).join(',')}\r\n`
  yield line(['time (s)', ...columns.map(({ head }) => head)])
  for (let row = from; row < from + rows; row += ROWS_AT_ONCE) {
    let text = ''
    for (let at = row; at < Math.min(from + rows, row + ROWS_AT_ONCE); at++)
      text += line([
        (signals.t_s[at] as number).toFixed(6),
        ...values.map(({ own, factor }) => factor * (own[at] as number)),
      ])
    yield text
  }
}

/** Which columns stay out and why, in sentences; empty when all are in. */
export function excerptLeavesOut(all: readonly ExcerptColumn[], chosen: readonly ExcerptColumn[]): string[] {
  const out = all.filter((column) => !chosen.some(({ key }) => key === column.key))
  const tells = Map.groupBy(
    out.filter((column) => column.tells !== null),
    (column) => column.tells as PrivateKind,
  )
  const rest = out.filter((column) => column.tells === null)
  const counted = (count: number) => (count === 1 ? '1 column' : `${count} columns`)
  return [
    'The name of the log, its path, the day and hour and the lines above its table are never in an excerpt.',
    ...[...tells].map(([kind, columns]) => `${counted(columns.length)} that may tell a ${kind}.`),
    ...(rest.length > 0
      ? [`${counted(rest.length)} that ${rest.length === 1 ? 'was' : 'were'} not chosen.`]
      : []),
  ]
}
