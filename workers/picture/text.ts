import type { PictureContext } from './context.ts'
import { fontOf } from './theme.ts'

/** How a piece of text is set. Sizes in CSS pixels. */
export interface TextStyle {
  readonly size: number
  readonly bold?: boolean
  readonly colour: string
  readonly align?: 'left' | 'right' | 'center'
}

const ELLIPSIS = '\u2026'
/** Runs of combining marks longer than any script needs; they would be drawn over the lines around. */
const STACKED_MARKS = /(\p{M}{3})\p{M}+/gu
const LINE_BREAKS = /[\t\n\v\f\r\u0085\u2028\u2029]+/gu
/** Control characters, and those that turn the direction of the text that follows. */
const INVISIBLE = /[\p{Cc}\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u2069\ufeff]/gu

/**
 * Any text as one drawable line: line breaks become spaces, control and direction marks go, lone surrogates
 * become the replacement sign, piled-up accents are cut. Nothing is interpreted: markup stays visible text.
 */
export function plainLine(text: string): string {
  return text
    .toWellFormed()
    .replace(LINE_BREAKS, ' ')
    .replace(INVISIBLE, '')
    .replace(STACKED_MARKS, '$1')
    .replace(/ {2,}/g, ' ')
    .trim()
}

/** Draws one line with its baseline at y; the text must be plain (plainLine) and fit already. */
export function drawText(
  context: PictureContext,
  text: string,
  x: number,
  baseline_y: number,
  style: TextStyle,
): void {
  if (text === '') return
  context.font = fontOf(style.size, style.bold)
  context.fillStyle = style.colour
  context.textAlign = style.align ?? 'left'
  context.textBaseline = 'alphabetic'
  context.fillText(text, x, baseline_y)
}

/** Width in CSS pixels of a line as drawText sets it. */
export function textWidth(
  context: PictureContext,
  text: string,
  style: Pick<TextStyle, 'size' | 'bold'>,
): number {
  context.font = fontOf(style.size, style.bold)
  return context.measureText(text).width
}

/** The line itself when it fits, else shortened at its end with an ellipsis; '' when not even that fits. */
export function fitEnd(
  context: PictureContext,
  text: string,
  width: number,
  style: Pick<TextStyle, 'size' | 'bold'>,
): string {
  return shorten(
    context,
    text,
    width,
    style,
    (letters, keep) => letters.slice(0, keep).join('').trimEnd() + ELLIPSIS,
  )
}

/** The first of the plain texts that fits, else the last one shortened. */
export function firstThatFits(
  context: PictureContext,
  texts: readonly string[],
  width: number,
  style: Pick<TextStyle, 'size' | 'bold'>,
): string {
  const fitting = texts.find((text) => textWidth(context, text, style) <= width)
  return fitting ?? fitEnd(context, texts.at(-1) ?? '', width, style)
}

/** As fitEnd, but cut in the middle: names of logs and crafts often differ at their end only. */
export function fitMiddle(
  context: PictureContext,
  text: string,
  width: number,
  style: Pick<TextStyle, 'size' | 'bold'>,
): string {
  return shorten(context, text, width, style, (letters, keep) => {
    const tail = Math.floor(keep / 2)
    const head = letters.slice(0, keep - tail).join('')
    return (
      head.trimEnd() +
      ELLIPSIS +
      letters
        .slice(letters.length - tail)
        .join('')
        .trimStart()
    )
  })
}

function shorten(
  context: PictureContext,
  text: string,
  width: number,
  style: Pick<TextStyle, 'size' | 'bold'>,
  cut: (letters: string[], keep: number) => string,
): string {
  // No line of a picture holds a thousand letters; a megabyte of text must not be measured as a whole.
  const line = plainLine(text.length > 2000 ? `${text.slice(0, 1000)}${text.slice(-1000)}` : text)
  if (textWidth(context, line, style) <= width) return line
  const letters = splitLetters(line)
  let fits = -1
  let tooMany = letters.length
  while (tooMany - fits > 1) {
    const middle = (fits + tooMany) >> 1
    if (textWidth(context, cut(letters, middle), style) <= width) fits = middle
    else tooMany = middle
  }
  return fits < 0 ? '' : cut(letters, fits)
}

/** Letters as people count them, so that a cut never splits an accent or a flag. */
function splitLetters(text: string): string[] {
  return Array.from(
    new Intl.Segmenter('en', { granularity: 'grapheme' }).segment(text),
    (part) => part.segment,
  )
}

/**
 * Breaks a text at spaces into at most `maxLines` lines of `width`; a word that is too long for a line is
 * broken anywhere; what exceeds the last line ends in an ellipsis. No lines for an empty text.
 */
export function wrapText(
  context: PictureContext,
  text: string,
  width: number,
  maxLines: number,
  style: Pick<TextStyle, 'size' | 'bold'>,
): string[] {
  const words = plainLine(text.slice(0, 20_000))
    .split(' ')
    .filter((word) => word !== '')
  if (maxLines < 1) return []
  const lines: string[] = []
  let line = ''
  while (words.length > 0 && lines.length < maxLines) {
    const word = words[0] as string
    const longer = line === '' ? word : `${line} ${word}`
    if (textWidth(context, longer, style) <= width) {
      line = longer
      words.shift()
    } else if (line !== '') {
      lines.push(line)
      line = ''
    } else {
      const head = longestHead(context, word, width, style)
      lines.push(head)
      words[0] = word.slice(head.length)
    }
  }
  if (line !== '' && lines.length < maxLines) lines.push(line)
  else if (words.length > 0 || line !== '') {
    const rest = [lines.pop() ?? '', line, ...words].join(' ')
    lines.push(fitEnd(context, rest, width, style))
  }
  return lines
}

/**
 * How many lines a text is given, at most `most`, judged without a canvas by a width that running text in
 * DejaVu Sans stays below. The picture's height is set by this; wrapping then keeps to it.
 */
export function linesFor(text: string, width: number, most: number, size: number): number {
  const line = plainLine(text.slice(0, 20_000))
  const perLine = Math.floor(width / (size * 0.68))
  return line === '' ? 0 : Math.min(most, Math.ceil((line.length + 12) / perLine))
}

/** At least one letter, so that breaking always moves on. */
function longestHead(
  context: PictureContext,
  word: string,
  width: number,
  style: Pick<TextStyle, 'size' | 'bold'>,
): string {
  const letters = splitLetters(word)
  let fits = 1
  let tooMany = letters.length
  while (tooMany - fits > 1) {
    const middle = (fits + tooMany) >> 1
    if (textWidth(context, letters.slice(0, middle).join(''), style) <= width) fits = middle
    else tooMany = middle
  }
  return letters.slice(0, fits).join('')
}
