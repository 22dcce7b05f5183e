import { arrangementOf } from './arrangement.ts'
import { LEGEND_LINE } from './legend.ts'
import { settingsSentence, spanSentence } from './header.ts'
import { shownNotices } from './bottom.ts'
import { leastRowsHeight } from './layout.ts'
import type { ComparisonPicture } from './model.ts'
import { MARGIN, TYPE } from './pen.ts'
import { footnotesOf, layOutTable } from './table.ts'

/**
 * A height that surely holds the picture, without a canvas to measure text on: letters are counted at a
 * width that running text in DejaVu Sans stays below (its widest letters are rare).
 */
export function estimateHeight(model: ComparisonPicture): number {
  const width = model.width_px - 2 * MARGIN
  const lines = (text: string, most: number, size: number): number => {
    const perLine = Math.floor(width / (size * 0.68))
    return text === '' ? 0 : Math.min(most, Math.ceil((text.length + 12) / perLine))
  }
  const header =
    14 +
    28 * lines(model.title, 2, TYPE.title * 1.1) +
    22 * Math.min(6, model.headlines?.length ?? 0) +
    4 +
    14 +
    44 +
    18 * lines(spanSentence(model), 2, TYPE.small) +
    18 * lines(settingsSentence(model.settings ?? []), 3, TYPE.small) +
    18 * lines(model.note ?? '', 4, TYPE.small) +
    12
  const legend = (arrangementOf(model) === 'beside' ? 1 : 2) * LEGEND_LINE + 6
  const table = layOutTable(model)
  const bottomLines = [
    ...footnotesOf(table),
    ...shownNotices(model.notices).map((notice) => notice.text),
    model.footer.leftOut.join(' '),
  ].reduce((sum, text) => sum + lines(text, 2, TYPE.small), 0)
  const bottom = (bottomLines > 0 ? bottomLines * 17 + 10 : 0) + 34 + 10
  return header + legend + leastRowsHeight(model) + table.height + bottom
}
