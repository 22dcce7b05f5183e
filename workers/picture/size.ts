import { arrangementOf } from './arrangement.ts'
import { bottomHeight } from './bottom.ts'
import { headerHeight } from './header.ts'
import { leastRowsHeight } from './layout.ts'
import { LEGEND_LINE } from './legend.ts'
import type { ComparisonPicture } from './model.ts'
import { footnotesOf, layOutTable } from './table.ts'

/** Space above the header, between the legend and the rows, and below the last line. */
export const EDGE = { top: 14, legend: 6, bottom: 10 } as const

/** Lines of the legend above the rows. */
export function legendHeight(model: ComparisonPicture): number {
  return (arrangementOf(model) === 'beside' ? 1 : 2) * LEGEND_LINE + EDGE.legend
}

/** The least height in CSS pixels at which every part has its room, without a canvas to measure text on. */
export function leastHeight(model: ComparisonPicture): number {
  const table = layOutTable(model)
  return (
    EDGE.top +
    headerHeight(model) +
    legendHeight(model) +
    leastRowsHeight(model) +
    table.height +
    bottomHeight(model, footnotesOf(table)) +
    EDGE.bottom
  )
}
