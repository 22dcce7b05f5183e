import type { PictureContext } from '../picture/context.ts'
import { drawLine } from '../picture/pen.ts'
import { drawText, fitEnd, wrapText } from '../picture/text.ts'
import { PALETTES } from '../picture/theme.ts'
import type { PictureTheme } from '../picture/model.ts'
import type { FieldCard } from './field-card.ts'

/** Across a phone held upright, in pixels. */
export const CARD_WIDTH_PX = 1080
const MARGIN = 56
const INDENT = 84
/** Letters are read at arm's length on a screen about 7 cm wide (common practice, no source). */
const SIZES = { title: 58, what: 40, body: 32, small: 28 } as const
const LEADING = 1.36

/** One thing to draw, with the baseline or the line at y. */
type Mark =
  | {
      readonly kind: 'text'
      readonly text: string
      readonly x: number
      readonly y: number
      readonly size: number
      readonly bold: boolean
      readonly muted: boolean
    }
  | { readonly kind: 'rule'; readonly y: number }
  | { readonly kind: 'box'; readonly x: number; readonly y: number; readonly size: number }

/** The card laid out: what stands where, and how high it is in all. */
export interface CardLayout {
  readonly width_px: number
  readonly height_px: number
  readonly marks: readonly Mark[]
}

/** Lays the card out for a phone; `context` only measures text. */
export function layOutCard(context: PictureContext, card: FieldCard): CardLayout {
  const marks: Mark[] = []
  let y = MARGIN
  const write = (
    text: string,
    size: number,
    {
      x = MARGIN,
      bold = false,
      muted = false,
      most = 4,
    }: { x?: number; bold?: boolean; muted?: boolean; most?: number } = {},
  ) => {
    for (const line of wrapText(context, text, CARD_WIDTH_PX - MARGIN - x, most, { size, bold })) {
      y += size * LEADING
      marks.push({ kind: 'text', text: line, x, y: y - size * 0.3, size, bold, muted })
    }
  }
  const rule = () => {
    y += 20
    marks.push({ kind: 'rule', y })
    y += 12
  }
  write('Fly again', SIZES.body, { muted: true })
  const title = { size: SIZES.title, bold: true }
  write(fitEnd(context, card.craft, CARD_WIDTH_PX - 2 * MARGIN, title), SIZES.title, { bold: true, most: 1 })
  rule()
  for (const { what, howOften, why, lookFor, note, from, stars } of card.items) {
    y += 10
    marks.push({ kind: 'box', x: MARGIN, y: y + SIZES.what * 0.28, size: SIZES.what * 0.85 })
    const x = MARGIN + INDENT
    write(what, SIZES.what, { x, bold: true, most: 5 })
    y += 6
    write(`${howOften}.`, SIZES.body, { x, bold: true, most: 2 })
    write(why, SIZES.small, { x, muted: true })
    for (const hint of lookFor) write(`Look for: ${hint}`, SIZES.body, { x })
    if (note !== '') write(`Note: ${note}`, SIZES.body, { x, most: 3 })
    const origin = [from, stars > 0 ? `${stars} of 5 stars` : ''].filter(Boolean).join('; ')
    write(origin, SIZES.small, { x, muted: true, most: 1 })
    rule()
  }
  if (card.items.length === 0) {
    write('Nothing is to be flown again.', SIZES.body)
    rule()
  }
  if (card.left > 0) write(`And ${card.left} more that are not on this card.`, SIZES.body)
  y += 10
  write(card.packPlan, SIZES.body)
  y += 22
  write('Before you fly', SIZES.body, { bold: true })
  for (const caution of card.cautions) {
    const top = y
    write(caution, SIZES.body, { x: MARGIN + 36 })
    const baseline = top + SIZES.body * LEADING - SIZES.body * 0.3
    const dash = { x: MARGIN, y: baseline, size: SIZES.body, bold: false, muted: false }
    marks.push({ kind: 'text', text: '–', ...dash })
  }
  return { width_px: CARD_WIDTH_PX, height_px: Math.ceil(y + MARGIN), marks }
}

/** Draws a card that was laid out, on a canvas of its size. */
export function drawCard(context: PictureContext, layout: CardLayout, theme: PictureTheme): void {
  const palette = PALETTES[theme]
  context.fillStyle = palette.background
  context.fillRect(0, 0, layout.width_px, layout.height_px)
  for (const mark of layout.marks) {
    if (mark.kind === 'rule') {
      const pen = { context, palette, scale: 1 }
      drawLine(pen, [MARGIN, mark.y], [CARD_WIDTH_PX - MARGIN, mark.y], palette.grid, 2)
    } else if (mark.kind === 'box') {
      context.setLineDash([])
      context.strokeStyle = palette.text
      context.lineWidth = 3
      context.strokeRect(mark.x, mark.y, mark.size, mark.size)
    } else {
      const { text, x, y, size, bold, muted } = mark
      drawText(context, text, x, y, { size, bold, colour: muted ? palette.muted : palette.text })
    }
  }
}
