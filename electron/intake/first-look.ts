import { sizeOf } from '../../workers/columns/evidence.ts'
import { headerKey } from '../../workers/columns/header-key.ts'
import { nameColumns } from '../../workers/columns/name-columns.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { Inspection, LogColumn, Notice } from '../../workers/log/log.ts'
import type { CellTarget } from '../../workers/text/row-parser.ts'
import { openLog } from './byte-source.ts'
import { giveBack } from './give-back.ts'
import { storageOf } from './column-storage.ts'
import type { TableLook } from './readers/reader.ts'
import { readerFor } from './readers/registry.ts'

/** The first look with what the whole reading needs besides. */
export interface FirstLook {
  readonly inspection: Inspection
  /** Its samples have served, and are empty. */
  readonly table: TableLook
  /** How each column is to be stored, should it be. */
  readonly targets: readonly CellTarget[]
}

/**
 * Looks at the beginning of a log: dialect, names, and what the columns mean. Stores nothing.
 * @param stop called between pieces; throws to end the look
 */
export async function firstLook(path: string, fileName: string, stop: () => void): Promise<FirstLook> {
  const log = await openLog(path, fileName)
  await log.handle.close()
  const table = await readerFor(log.start).look(path, fileName, stop)
  const { names, unitTexts, stampUnits, samples, examples } = table
  const assignments = nameColumns({ names, unitTexts, stampUnits, samples })
  const time = assignments.find((assignment) => assignment.role === 'time')
  const targets = names.map((_, column): CellTarget => {
    const values = samples[column]
    if (!values) return 'skip'
    if (stampUnits.has(column)) return 'f64-origin'
    return storageOf(values, examples[column] ?? [], column === time?.column)
  })
  const columns = names.map((name, index): LogColumn => {
    const target = targets[index]
    const type = target === 'skip' ? 'text' : target === 'f32' ? 'f32' : 'f64'
    return { index, name, type, examples: examples[index] ?? [], ...rangeOf(samples[index] ?? null) }
  })
  const inspection: Inspection = {
    fileName,
    bytes: table.bytes,
    dialect: table.dialect,
    preamble: table.preamble,
    headerKey: headerKey(names),
    columns,
    assignments,
    notices: [...lookNotices(names, assignments), ...table.notices],
  }
  giveBack(samples)
  return { inspection, table, targets }
}

/** Notices that need no more than the first look. */
function lookNotices(names: readonly string[], assignments: readonly Assignment[]): Notice[] {
  const notices: Notice[] = []
  const seen = new Set<string>()
  const twice = new Set(names.filter((name) => seen.size === seen.add(name).size))
  if (twice.size > 0) {
    const shown = [...twice].slice(0, 3).map((name) => `“${name}”`)
    const text = `The header gives the same name to several columns (${shown.join(', ')}); they are told apart by their place.`
    notices.push({ level: 'caution', text })
  }
  if (!assignments.some((assignment) => assignment.role === 'time')) {
    notices.push({
      level: 'missing',
      text: 'No time column was found.',
      cost: 'The log can’t be read without one.',
    })
  }
  return notices
}

function rangeOf(values: Float64Array | null): { min: number | null; max: number | null } {
  if (!values) return { min: null, max: null }
  const { min, max } = sizeOf(values)
  return min <= max ? { min, max } : { min: null, max: null }
}
