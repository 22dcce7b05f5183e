import type { Notice, PreambleEntry } from '../../../workers/log/log.ts'
import type { UnitId } from '../../../workers/units/units.ts'
import { NumberMaker, type RawValues, type TypedColumn } from './typed-column.ts'

/** Texts longer than this that stand beside a table are no names and notes: writers keep schemas of their own there. */
const LONGEST_ENTRY = 400

/** Names and notes that stand beside a table. */
export function textEntries(entries: Iterable<readonly [string, string]>): PreambleEntry[] {
  return [...entries]
    .filter(([, value]) => value !== '' && value.length <= LONGEST_ENTRY && !value.startsWith('{'))
    .map(([name, value]) => ({ name, value }))
}

/** The units of columns that hold dates, times or durations. */
export function stampUnitsOf(columns: readonly TypedColumn[]): Map<number, UnitId> {
  return new Map(
    columns.flatMap(({ stampUnit }, column) => (stampUnit ? [[column, stampUnit] as const] : [])),
  )
}

/**
 * Gathers the first rows of each column as doubles; null for columns of anything but numbers.
 * @param read gives a column's first values, stretch after stretch, to `put`
 */
export async function samplesOf(
  columns: readonly TypedColumn[],
  rows: number,
  read: (column: number, put: (raw: RawValues) => void) => void | Promise<void>,
): Promise<(Float64Array<ArrayBuffer> | null)[]> {
  const samples: (Float64Array<ArrayBuffer> | null)[] = []
  for (const [index, column] of columns.entries()) {
    const sample = column.kind === 'numbers' ? new Float64Array(rows).fill(NaN) : null
    const maker = new NumberMaker(column, false)
    let done = 0
    await read(index, (raw) => {
      sample?.set(maker.numbers(raw), done)
      done += raw.length
    })
    samples.push(sample)
  }
  return samples
}

/** What is said of columns that are left out because a cell of theirs holds more than one value. */
export function nestedNotices(columns: readonly TypedColumn[]): Notice[] {
  const nested = columns.filter(({ kind }) => kind === 'nested')
  if (nested.length === 0) return []
  const names = nested.slice(0, 3).map(({ name }) => `“${name}”`)
  const more = nested.length > 3 ? ` and ${nested.length - 3} more` : ''
  const what = nested.length === 1 ? 'holds lists or records and was' : 'hold lists or records and were'
  return [{ level: 'info', text: `${names.join(', ')}${more} ${what} left out.` }]
}
