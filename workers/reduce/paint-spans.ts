import type { ColumnSpans } from './columns.ts'

/** Pixels as canvases have them: RGBA bytes, row by row from the top; `words` is the same memory, four bytes each. */
export interface Pixels {
  readonly width: number
  readonly height: number
  readonly bytes: Uint8ClampedArray<ArrayBuffer>
  readonly words: Uint32Array<ArrayBuffer>
}

export type Rgb = readonly [red: number, green: number, blue: number]

/** How a line is painted. */
export interface Pen {
  readonly colour: Rgb
  /** Pixels. */
  readonly width: number
  /** 0..1; below 1 what lies under shows through. */
  readonly opacity: number
  /** Drawn and left-out pixels along x; steep pieces are always drawn, since a jump that is left out is a lie. */
  readonly dash?: readonly [on: number, off: number]
}

/** A piece that climbs more than this many pixels in a column is drawn whatever the dash says. */
const STEEP_PX = 3

/** Pixels to paint on. */
export function makePixels(width: number, height: number): Pixels {
  const bytes = new Uint8ClampedArray(width * height * 4)
  return { width, height, bytes, words: new Uint32Array(bytes.buffer) }
}

/** A colour as one 32-bit store, whatever the machine's byte order. */
export function wordOf(colour: Rgb): number {
  ONE.bytes.set(colour)
  return ONE.words[0]!
}

/** One pixel, whose fourth byte stays 255. */
const ONE = onePixel()
function onePixel() {
  const bytes = new Uint8Array([0, 0, 0, 255])
  return { bytes, words: new Uint32Array(bytes.buffer) }
}

/** Fills all pixels with one colour. */
export function fillPixels(pixels: Pixels, colour: Rgb): void {
  pixels.words.fill(wordOf(colour))
}

/** A line of one pixel across, at a row of pixels. Outside the pixels it paints nothing. */
export function paintRow(pixels: Pixels, y: number, colour: Rgb): void {
  if (y >= 0 && y < pixels.height) pixels.words.fill(wordOf(colour), y * pixels.width, (y + 1) * pixels.width)
}

/** A line of one pixel upright. */
export function paintColumn(pixels: Pixels, x: number, colour: Rgb): void {
  if (x < 0 || x >= pixels.width) return
  const word = wordOf(colour)
  for (let at = x; at < pixels.words.length; at += pixels.width) pixels.words[at] = word
}

/**
 * Paints a line given by what it covers in each column of pixels, one column per pixel, with soft ends: the span
 * min..max of the scale stands from the lowest to the highest row. Values beyond the scale run off the edge.
 * @throws RangeError when spans and pixels differ in width or the scale is empty
 */
export function paintSpans(
  pixels: Pixels,
  spans: ColumnSpans,
  scale: { readonly min: number; readonly max: number },
  pen: Pen,
): void {
  const { width, height } = pixels
  if (spans.low.length !== width) throw new RangeError(`${spans.low.length} columns for ${width} pixels`)
  if (!(scale.min < scale.max)) throw new RangeError(`no scale: ${scale.min} to ${scale.max}`)
  const perUnit = height / (scale.max - scale.min)
  const half = pen.width / 2
  const [on, off] = pen.dash ?? [1, 0]
  const word = wordOf(pen.colour)
  for (let x = 0; x < width; x++) {
    const high = spans.high[x]!
    const low = spans.low[x]!
    if (high !== high) continue
    const climb = (high - low) * perUnit
    if (off > 0 && climb < STEEP_PX && x % (on + off) >= on) continue
    // A slanting line of this width covers more of an upright column than a level one.
    const reach = half * Math.min(1.6, Math.sqrt(1 + climb * climb * 0.25))
    const top = (scale.max - high) * perUnit - reach
    const bottom = (scale.max - low) * perUnit + reach
    paintUpright(pixels, x, Math.max(0, top), Math.min(height, bottom), pen, word)
  }
}

/** One column from `top` to `bottom`, in pixels and parts of them. */
function paintUpright(pixels: Pixels, x: number, top: number, bottom: number, pen: Pen, word: number): void {
  if (!(bottom > top)) return
  const { width, words } = pixels
  const first = Math.floor(top)
  const last = Math.ceil(bottom) - 1
  if (first === last) {
    blend(pixels, first * width + x, pen.colour, pen.opacity * (bottom - top))
    return
  }
  blend(pixels, first * width + x, pen.colour, pen.opacity * (first + 1 - top))
  if (pen.opacity >= 1) {
    for (let at = (first + 1) * width + x, end = last * width; at < end; at += width) words[at] = word
  } else {
    // Most of a column lies over one colour: what came of it is used again.
    let [under, over] = [-1, 0]
    for (let at = (first + 1) * width + x, end = last * width; at < end; at += width) {
      if (words[at] !== under) {
        under = words[at]!
        blend(pixels, at, pen.colour, pen.opacity)
        over = words[at]!
      } else words[at] = over
    }
  }
  blend(pixels, last * width + x, pen.colour, pen.opacity * (bottom - last))
}

function blend({ bytes }: Pixels, pixel: number, colour: Rgb, share: number): void {
  const at = pixel * 4
  bytes[at] = bytes[at]! + (colour[0] - bytes[at]!) * share
  bytes[at + 1] = bytes[at + 1]! + (colour[1] - bytes[at + 1]!) * share
  bytes[at + 2] = bytes[at + 2]! + (colour[2] - bytes[at + 2]!) * share
  bytes[at + 3] = 255
}
