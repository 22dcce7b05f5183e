import type { Notice } from '../../../workers/log/log.ts'
import type { CellTarget } from '../../../workers/text/row-parser.ts'
import type { GroupFiller } from './group-filler.ts'
import type { RowsRead } from './reader.ts'
import { NumberMaker, type TypedColumn } from './typed-column.ts'

/** One maker per column; those whose stamps are stored as differences to the first keep it. */
export function makersFor(columns: readonly TypedColumn[], targets: readonly CellTarget[]): NumberMaker[] {
  return columns.map((column, index) => new NumberMaker(column, targets[index] === 'f64-origin'))
}

/** Ends the filling and hands over what came of it. A typed table sets nothing aside and never begins anew. */
export async function rowsReadBy(
  filler: GroupFiller,
  contentHash: string,
  makers: readonly NumberMaker[],
  notices: readonly Notice[] = [],
): Promise<RowsRead> {
  await filler.end()
  return {
    rows: filler.rows,
    contentHash,
    min: filler.min,
    max: filler.max,
    origins: makers.map(({ origin }) => origin),
    setAside: new Set(),
    restarts: [],
    notices,
  }
}
