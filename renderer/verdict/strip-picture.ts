import { fillPixels, wordOf, type Pixels, type Rgb } from '../../workers/reduce/paint-spans.ts'

/** A block of a line of manoeuvres, in CSS pixels from the line's left end. */
export interface Block {
  readonly left: number
  readonly length: number
  readonly name: string
  readonly look: 'usual' | 'pressed' | 'pointed'
}

export interface BlockColours {
  /** Where there is no block, and a block that the pointer is on. */
  readonly well: Rgb
  readonly wash: Rgb
  readonly pressed: Rgb
  /** The edge that a block begins with. */
  readonly edge: Rgb
}

/** How a block begins: with an upright edge, whole or dashed, so that flights are told apart without colour. */
export const EDGE_PX = 2
const DASH_PX = 6
const DASH_GAP_PX = 3

/**
 * Paints a line of blocks, each over those before it, over the whole height of the pixels. `ratio` is how many pixels a
 * CSS pixel has.
 */
export function paintBlocks(
  pixels: Pixels,
  blocks: readonly Block[],
  colours: BlockColours,
  dashed: boolean,
  ratio: number,
): void {
  const { width, height, words } = pixels
  fillPixels(pixels, colours.well)
  if (width === 0 || height === 0) return
  const [edged, bare] = [words.slice(0, width), words.slice(0, width)]
  const fills = {
    usual: wordOf(colours.wash),
    pressed: wordOf(colours.pressed),
    pointed: wordOf(colours.well),
  }
  const edge = wordOf(colours.edge)
  const edge_px = Math.round(EDGE_PX * ratio)
  for (const { left, length, look } of blocks) {
    const begin = Math.round(left * ratio)
    const from = Math.max(0, begin)
    const to = Math.min(width, Math.round((left + length) * ratio))
    if (to <= from) continue
    edged.fill(fills[look], from, to)
    bare.fill(fills[look], from, to)
    if (begin + edge_px > 0) edged.fill(edge, from, Math.min(to, begin + edge_px))
  }
  const period_px = (DASH_PX + DASH_GAP_PX) * ratio
  for (let y = 0; y < height; y++) {
    const gap = dashed && (y + 0.5) % period_px > DASH_PX * ratio
    words.set(gap ? bare : edged, y * width)
  }
}

/** A name and where it is written, in CSS pixels. */
export interface Written {
  readonly text: string
  readonly left: number
  /** It goes no further than this. */
  readonly right: number
  readonly look: Block['look']
}

/**
 * The names that have room in their blocks, cut with an ellipsis where the block ends first; a block that begins
 * within an earlier one hides what of the name it covers.
 * @param measure how long a text is as it will be written, CSS pixels
 */
export function namesIn(
  blocks: readonly Block[],
  width: number,
  room: { readonly least_px: number; readonly pad_px: number },
  measure: (text: string, look: Block['look']) => number,
): Written[] {
  return blocks.flatMap((block, index) => {
    const left = block.left + EDGE_PX + room.pad_px
    const end = block.left + block.length
    if (block.length <= room.least_px || left > width || end < 0) return []
    const text = cutTo(block.name, end - room.pad_px - left, (some) => measure(some, block.look))
    let right = end
    for (let next = index + 1; next < blocks.length && blocks[next]!.left < right; next++) {
      if (blocks[next]!.left + blocks[next]!.length > left) right = blocks[next]!.left
    }
    return right > left ? [{ text, left, right, look: block.look }] : []
  })
}

/** As much of a text as fits, with an ellipsis for what doesn't. */
export function cutTo(text: string, room_px: number, measure: (text: string) => number): string {
  if (measure(text) <= room_px) return text
  for (let length = text.length - 1; length > 0; length--) {
    const cut = `${text.slice(0, length).trimEnd()}…`
    if (measure(cut) <= room_px) return cut
  }
  return '…'
}
