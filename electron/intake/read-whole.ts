import { nameColumns } from '../../workers/columns/name-columns.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { ColumnFileLayout, LogColumn, ReadLog, StoredColumn } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { LEVEL_BLOCK } from '../../workers/text/kernel/rows-kernel.ts'
import type { CellTarget } from '../../workers/text/row-parser.ts'
import { groupRowsFor, rowBytesOf } from './column-file.ts'
import { ColumnFileWriter } from './column-writer.ts'
import { firstLook, type FirstLook } from './first-look.ts'
import { sampleRows, sampleStretches } from './row-sample.ts'
import { judge } from './judge.ts'
import { handBack, Parts, takeMemory } from './work-memory.ts'
import type { RowsRead } from './readers/reader.ts'

/** What is to be read and where its columns go. */
export interface ReadOrder {
  readonly path: string
  readonly fileName: string
  /** Path of the column file while it is written. */
  readonly temporary: string
  /** Used as they are instead of the program's own; null to let the program decide. */
  readonly assignments: readonly Assignment[] | null
  /** The file's SHA-256 where it is known and the file can't have changed since; null to compute it. */
  readonly contentHash: string | null
}

/** Where the reading is: a word for people and the share that is done, 0..1. */
export interface Progress {
  readonly phase: string
  readonly done: number
}

/**
 * Reads a whole log: rows into the column file, everything else into the result. Memory does not grow with the file
 * but for the clock and a few columns at a time. The column file is durable but still bears its temporary name, for
 * the caller to publish; nothing is left behind on failure.
 * @param stop called between slices; throws to end the reading
 * @param known what a first look at the same file has found; null to look now
 */
export async function readWhole(
  order: ReadOrder,
  onProgress: (progress: Progress) => void,
  stop: () => void,
  known: FirstLook | null = null,
): Promise<ReadLog> {
  const { path, fileName } = order
  onProgress({ phase: 'Looking', done: 0 })
  const look = known ?? (await firstLook(path, fileName, stop))
  const given = order.assignments
  const expected = given ?? look.inspection.assignments
  const time = expected.find((assignment) => assignment.role === 'time')
  if (!time) {
    throw new Problem(
      'no-time',
      `${fileName} has no time column: none is named so and rises from row to row.`,
      {
        file: fileName,
      },
    )
  }
  const plan = planStorage(look, expected)
  const groupRows = groupRowsFor(rowBytesOf(plan.stored))
  const writer = await ColumnFileWriter.create(order.temporary, plan.stored, groupRows)
  const memory = takeMemory()
  try {
    const read = await look.table.readRows({
      targets: plan.targets,
      required: look.table.names.map((_, column) => expected.some((one) => one.column === column)),
      groupRows,
      memory,
      contentHash: order.contentHash,
      onGroup: (group) => writer.write(group),
      onProgress: (done) => onProgress({ phase: 'Reading', done }),
      stop,
    })
    if (read.rows < 2) {
      const found = read.rows === 0 ? 'no rows' : 'one row only'
      throw new Problem('too-short', `${fileName} holds ${found} of numbers.`, { file: fileName })
    }
    const layout = layoutOf(plan.stored, read, groupRows)
    await writer.finish()
    onProgress({ phase: 'Checking', done: 1 })
    stop()
    const assignments = given ?? renamed(look, expected, layout, order.temporary, memory)
    const judged = await judge(order.temporary, layout, assignments, read.restarts, memory, stop)
    handBack(memory)
    return {
      ...look.inspection,
      columns: finalColumns(look.inspection.columns, layout, read),
      assignments,
      rows: read.rows,
      contentHash: read.contentHash,
      clock: judged.clock,
      layout,
      restarts: judged.restarts,
      flights: judged.flights,
      glance: judged.glance,
      notices: [
        ...look.inspection.notices.filter((notice) => !notice.text.startsWith('No time column')),
        ...read.notices,
        ...judged.notices,
      ],
    }
  } catch (cause) {
    await writer.discard()
    throw cause
  }
}

/** Which columns are stored and how: 64-bit ones first, as the column file wants them. */
function planStorage(
  look: FirstLook,
  expected: readonly Assignment[],
): { targets: CellTarget[]; stored: StoredColumn[] } {
  const targets = look.targets.map((target, column): CellTarget => {
    const assignment = expected.find((one) => one.column === column)
    if (!assignment) return target
    if (assignment.role === 'time') return target === 'f64-origin' ? target : 'f64'
    // A column that looked like text is read all the same when it was chosen: its first text is then reported.
    return target === 'skip' ? 'f32' : target
  })
  const stored: StoredColumn[] = []
  for (const type of ['f64', 'f32'] as const) {
    targets.forEach((target, index) => {
      if (target !== 'skip' && (target === 'f32') === (type === 'f32')) stored.push({ index, type })
    })
  }
  return { targets, stored }
}

function layoutOf(stored: readonly StoredColumn[], read: RowsRead, groupRows: number): ColumnFileLayout {
  const narrow = stored.filter((column) => column.type === 'f32').length
  const at = read.rows * rowBytesOf(stored)
  const level = {
    block: LEVEL_BLOCK,
    at,
    firstsAt: at + 8 * narrow * Math.ceil(read.rows / LEVEL_BLOCK),
  }
  return {
    format: 1,
    rows: read.rows,
    groupRows,
    ...(narrow > 0 ? { level } : {}),
    columns: stored.map((column) => {
      const origin = read.origins[column.index] ?? null
      return {
        ...column,
        ...(origin === null ? {} : { origin }),
        ...(read.setAside.has(column.index) ? { setAside: true as const } : {}),
      }
    }),
  }
}

/**
 * Names the columns once more, now from rows of the whole flight: the beginning alone may show a craft at rest.
 * The clock stays as it was, because it has been read as such.
 */
function renamed(
  look: FirstLook,
  expected: readonly Assignment[],
  layout: ColumnFileLayout,
  columnFile: string,
  memory: WebAssembly.Memory,
): Assignment[] {
  const { names, unitTexts, stampUnits } = look.table
  const stretches = sampleStretches(layout.rows, rowBytesOf(layout.columns))
  const rows = stretches.reduce((sum, { from, to }) => sum + to - from, 0)
  const parts = new Parts(memory, 8 * rows * layout.columns.length)
  const samples: (Float64Array<ArrayBuffer> | null)[] = names.map(() => null)
  for (const column of layout.columns) if (!column.setAside) samples[column.index] = parts.f64(rows)
  sampleRows(columnFile, layout, stretches, samples)
  const time = expected.find((assignment) => assignment.role === 'time') as Assignment
  const again = nameColumns({ names, unitTexts, stampUnits, samples })
  parts.end()
  return [time, ...again.filter((one) => one.role !== 'time' && one.column !== time.column)]
}

function finalColumns(columns: readonly LogColumn[], layout: ColumnFileLayout, read: RowsRead): LogColumn[] {
  const byIndex = new Map(layout.columns.map((stored) => [stored.index, stored]))
  return columns.map((column): LogColumn => {
    const stored = byIndex.get(column.index)
    if (!stored || stored.setAside) return { ...column, type: 'text', min: null, max: null }
    const min = read.min[column.index] as number
    const max = read.max[column.index] as number
    const origin = Number(stored.origin ?? 0)
    const range = min <= max ? { min: min + origin, max: max + origin } : { min: null, max: null }
    return { ...column, type: stored.type, ...range }
  })
}
