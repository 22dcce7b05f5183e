import type { FlightGroup } from '../../electron/desk/contract/listing.ts'

/** Heights of the two kinds of lines, px: fixed, so that where a line stands is known without drawing those above. */
export const FLIGHT_HEIGHT_PX = 46
export const GROUP_HEIGHT_PX = 34

/** One line of the list. `index` counts flights over the whole list. */
export type Line =
  | { readonly kind: 'group'; readonly group: FlightGroup; readonly key: string }
  | { readonly kind: 'flight'; readonly index: number; readonly key: string }

interface Block {
  /** Null where nothing is grouped. */
  readonly group: FlightGroup | null
  readonly top_px: number
  /** Lines before this block. */
  readonly firstLine: number
  readonly firstFlight: number
  readonly count: number
}

/** Where every line of a list stands. */
export interface Layout {
  readonly height_px: number
  readonly lines: number
  readonly blocks: readonly Block[]
}

/** The part of a list that is to be drawn. */
export interface Visible {
  readonly lines: readonly Line[]
  /** Lines before the first drawn one. */
  readonly firstLine: number
  readonly above_px: number
  readonly below_px: number
  /** Flights [from, to) among the drawn lines. */
  readonly from: number
  readonly to: number
}

/** @param total flights in the list; the groups, where there are any, must add up to it */
export function layOut(groups: readonly FlightGroup[], total: number): Layout {
  const blocks: Block[] = []
  let top_px = 0
  let firstLine = 0
  let firstFlight = 0
  for (const group of groups.length > 0 ? groups : [null]) {
    const count = group ? group.count : total
    blocks.push({ group, top_px, firstLine, firstFlight, count })
    top_px += (group ? GROUP_HEIGHT_PX : 0) + count * FLIGHT_HEIGHT_PX
    firstLine += (group ? 1 : 0) + count
    firstFlight += count
  }
  return { height_px: top_px, lines: firstLine, blocks }
}

/** The lines that touch [top_px, bottom_px] of the list. */
export function visibleLines(layout: Layout, top_px: number, bottom_px: number): Visible {
  const lines: Line[] = []
  let above_px = 0
  let firstLine = 0
  let end_px = 0
  let from = 0
  let to = 0
  const take = (line: Line, at_px: number, number: number, height_px: number) => {
    if (lines.length === 0) {
      above_px = at_px
      firstLine = number
    }
    lines.push(line)
    end_px = at_px + height_px
  }
  for (let at = blockAt(layout.blocks, top_px); at < layout.blocks.length; at++) {
    const { group, top_px: block_px, firstLine: line, firstFlight, count } = layout.blocks[at]!
    if (block_px > bottom_px) break
    const head_px = group ? GROUP_HEIGHT_PX : 0
    if (group && block_px + head_px > top_px) {
      take({ kind: 'group', group, key: `${group.craft}/${group.day}` }, block_px, line, head_px)
    }
    const flights_px = block_px + head_px
    const first = Math.max(0, Math.floor((top_px - flights_px) / FLIGHT_HEIGHT_PX))
    const end = Math.min(count, Math.floor((bottom_px - flights_px) / FLIGHT_HEIGHT_PX) + 1)
    for (let own = first; own < end; own++) {
      const index = firstFlight + own
      if (to === 0) from = index
      to = index + 1
      take(
        { kind: 'flight', index, key: String(index) },
        flights_px + own * FLIGHT_HEIGHT_PX,
        line + (group ? 1 : 0) + own,
        FLIGHT_HEIGHT_PX,
      )
    }
  }
  return { lines, firstLine, above_px, below_px: Math.max(0, layout.height_px - end_px), from, to }
}

/** The last block that begins at or above a height; the first for heights above the list. */
function blockAt(blocks: readonly Block[], top_px: number): number {
  let low = 0
  let high = blocks.length
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (blocks[middle]!.top_px <= top_px) low = middle
    else high = middle
  }
  return low
}
