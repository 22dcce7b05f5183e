import type { ComparisonPicture, ExtraRow, PictureNotice } from './model.ts'
import { drawLine, MARGIN, type Pen, TYPE } from './pen.ts'
import { drawText, fitEnd, linesFor, textWidth, wrapText } from './text.ts'

const LINE = 17
/** More notices than these are counted, not shown: the picture is no log of everything. */
export const MOST_NOTICES = 8
const LINES_EACH = 3
const NOTICE_WORD = { info: 'Note', caution: 'Caution', missing: 'Missing' } as const

interface BottomLine {
  readonly word: string
  readonly text: string
}

/** Everything below the table, broken into lines, so that its height is known before the rows are laid out. */
export interface Bottom {
  readonly lines: readonly BottomLine[]
  readonly height: number
}

/** The notices' words stand in a column of their own. */
const WORD_COLUMN = 74

/** What stands there, in order: footnotes of the table, notices, curves that leave their scale, what was left out. */
function entriesOf(model: ComparisonPicture, footnotes: readonly string[]): BottomLine[] {
  return [
    ...footnotes.map((text) => ({ word: '', text })),
    ...shownNotices(model.notices).map(({ level, text }) => ({ word: NOTICE_WORD[level], text })),
    { word: 'Cut off', text: cutOffSentence(model) },
    { word: 'Left out', text: model.footer.leftOut.join(' ') },
    { word: 'Take care', text: model.footer.care ?? '' },
  ]
}

/** Which rows hold values of the span that their locked scale can't show; '' when all fit. */
export function cutOffSentence(model: ComparisonPicture): string {
  const { t0_s, t1_s } = model.span
  const leaves = (row: ExtraRow): boolean =>
    row.traces.some((trace) =>
      trace.y.some((y, index) => {
        const t_s = trace.t_s[index] as number
        return t_s >= t0_s && t_s <= t1_s && (y < row.yMin || y > row.yMax)
      }),
    )
  const rows: [string, ExtraRow | undefined][] = [
    ...model.rows.map((row): [string, ExtraRow] => [row.axis, row]),
    ['throttle', model.throttle],
    ['motors', model.motors],
  ]
  const names = rows.filter(([, row]) => row !== undefined && leaves(row)).map(([name]) => name)
  return names.length === 0 ? '' : `Some values lie beyond the scale: ${names.join(', ')}.`
}

const roomFor = (model: ComparisonPicture, entry: BottomLine): number =>
  model.width_px - 2 * MARGIN - (entry.word === '' ? 0 : WORD_COLUMN)

/** The height of the whole part, without a canvas. */
export function bottomHeight(model: ComparisonPicture, footnotes: readonly string[]): number {
  const lines = entriesOf(model, footnotes).reduce(
    (sum, entry) => sum + linesFor(entry.text, roomFor(model, entry), LINES_EACH, TYPE.small),
    0,
  )
  return heightOf(lines)
}

const heightOf = (lines: number): number => (lines > 0 ? lines * LINE + 10 : 0) + 34

/** Breaks the part into lines. */
export function layOutBottom(pen: Pen, model: ComparisonPicture, footnotes: readonly string[]): Bottom {
  const lines = entriesOf(model, footnotes).flatMap((entry) => {
    const room = roomFor(model, entry)
    const count = linesFor(entry.text, room, LINES_EACH, TYPE.small)
    return wrapText(pen.context, entry.text, room, count, { size: TYPE.small }).map((text, index) => ({
      // Later lines keep the indent and repeat no word.
      word: index === 0 || entry.word === '' ? entry.word : ' ',
      text,
    }))
  })
  return { lines, height: heightOf(lines.length) }
}

/** The most important first; when some don't fit, the last line says how many. */
export function shownNotices(notices: readonly PictureNotice[]): PictureNotice[] {
  const rank = { caution: 0, missing: 1, info: 2 }
  const sorted = [...notices].sort((one, other) => rank[one.level] - rank[other.level])
  if (sorted.length <= MOST_NOTICES) return sorted
  const kept = sorted.slice(0, MOST_NOTICES - 1)
  return [
    ...kept,
    { level: 'info', text: `${sorted.length - kept.length} more notices are not printed here.` },
  ]
}

/** Draws what layOutBottom broke, and the line with the program's name and the caution. */
export function drawBottom(pen: Pen, model: ComparisonPicture, bottom: Bottom, top: number): void {
  const { context, palette } = pen
  let y = top
  for (const line of bottom.lines) {
    y += LINE
    const indent = line.word === '' ? 0 : WORD_COLUMN
    drawText(context, line.word.trim(), MARGIN, y, { size: TYPE.small, bold: true, colour: palette.text })
    drawText(context, line.text, MARGIN + indent, y, { size: TYPE.small, colour: palette.text })
  }
  const right = model.width_px - MARGIN
  const ruleY = top + bottom.height - 24
  drawLine(pen, [MARGIN, ruleY], [right, ruleY], palette.frame, 1)
  const nameStyle = { size: TYPE.small, bold: true, colour: palette.text }
  const name = fitEnd(context, model.footer.program, 300, nameStyle)
  drawText(context, name, MARGIN, ruleY + 18, nameStyle)
  const cautionStyle = { size: TYPE.small, colour: palette.muted, align: 'right' as const }
  const room = right - MARGIN - textWidth(context, name, nameStyle) - 24
  drawText(
    context,
    fitEnd(context, model.footer.caution, room, cautionStyle),
    right,
    ruleY + 18,
    cautionStyle,
  )
}
