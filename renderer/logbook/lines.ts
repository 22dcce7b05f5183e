import type { FlightGroup } from '../../electron/desk/contract/listing.ts'

/** Heights of the two kinds of lines, px: fixed, so that where a line stands is known without drawing those above. */
export interface Heights {
  readonly flight_px: number
  readonly group_px: number
}

/** Whole pixels, as tables are laid out. @param rem_px size of the window's text, px */
export const heightsFor = (rem_px: number): Heights => ({
  flight_px: Math.round(2.875 * rem_px),
  group_px: Math.round(2.125 * rem_px),
})

/** One line of the list. `index` counts flights over the whole list. */
export type Line =
  | { readonly kind: 'group'; readonly group: FlightGroup; readonly key: string; readonly folded: boolean }
  | { readonly kind: 'flight'; readonly index: number; readonly key: string }

/** Names a group among the groups of a list. */
export const keyOfGroup = ({ craft, day }: Pick<FlightGroup, 'craft' | 'day'>): string => `${craft}/${day}`

interface Block {
  /** Null where nothing is grouped. */
  readonly group: FlightGroup | null
  readonly top_px: number
  /** Lines before this block. */
  readonly firstLine: number
  readonly firstFlight: number
  /** Flights that are drawn: none where the group is folded up. */
  readonly count: number
}

/** Where every line of a list stands. */
export interface Layout {
  readonly heights: Heights
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

/**
 * @param total flights in the list; the groups, where there are any, must add up to it
 * @param isFolded whether only a group's heading is drawn
 */
export function layOut(
  groups: readonly FlightGroup[],
  total: number,
  heights: Heights = heightsFor(16),
  isFolded: (group: FlightGroup) => boolean = () => false,
): Layout {
  const blocks: Block[] = []
  let top_px = 0
  let firstLine = 0
  let firstFlight = 0
  for (const group of groups.length > 0 ? groups : [null]) {
    const all = group ? group.count : total
    const count = group && isFolded(group) ? 0 : all
    blocks.push({ group, top_px, firstLine, firstFlight, count })
    top_px += (group ? heights.group_px : 0) + count * heights.flight_px
    firstLine += (group ? 1 : 0) + count
    firstFlight += all
  }
  return { heights, height_px: top_px, lines: firstLine, blocks }
}

/** The flight that is drawn `by` lines on from one, at most the first or last; null when none is drawn. */
export function drawnFlight({ blocks }: Layout, from: number | null, by: number): number | null {
  const open = blocks.filter(({ count }) => count > 0)
  const drawn = open.reduce((sum, { count }) => sum + count, 0)
  if (drawn === 0) return null
  let before = 0
  // With nothing to go on from, on begins before the first and back behind the last.
  let ordinal = from === null && by < 0 ? drawn : -1
  for (const { firstFlight, count } of open) {
    if (from !== null && from >= firstFlight) ordinal = before + Math.min(from - firstFlight, count - 1)
    before += count
  }
  const next = Math.min(drawn - 1, Math.max(0, ordinal + by))
  let rest = next
  for (const { firstFlight, count } of open) {
    if (rest < count) return firstFlight + rest
    rest -= count
  }
  return null
}

/** The height at which a flight stands, px from the list's top; null while it is folded up. */
export function topOf({ blocks, heights }: Layout, index: number): number | null {
  const block = blocks.findLast(({ firstFlight }) => firstFlight <= index)
  if (!block || index >= block.firstFlight + block.count) return null
  return block.top_px + (block.group ? heights.group_px : 0) + (index - block.firstFlight) * heights.flight_px
}

/** The group that a flight stands in; null where nothing is grouped. */
export function groupOf({ blocks }: Layout, index: number): FlightGroup | null {
  return blocks.findLast(({ firstFlight }) => firstFlight <= index)?.group ?? null
}

/** A part of the list, px from its top. */
export interface Part_px {
  readonly from_px: number
  readonly to_px: number
}

/**
 * The part to draw around what is in sight: `least_px` beyond it on either side, and what was drawn before as far as it
 * joins that and lies within `most_px`.
 */
export function drawnPart(before: Part_px, sight: Part_px, least_px: number, most_px: number): Part_px {
  const [from_px, to_px] = [sight.from_px - least_px, sight.to_px + least_px]
  const joins = before.to_px >= from_px && before.from_px <= to_px
  if (!joins) return { from_px, to_px }
  return {
    from_px: Math.max(sight.from_px - most_px, Math.min(before.from_px, from_px)),
    to_px: Math.min(sight.to_px + most_px, Math.max(before.to_px, to_px)),
  }
}

/** The lines that touch [top_px, bottom_px] of the list. */
export function visibleLines(layout: Layout, top_px: number, bottom_px: number): Visible {
  const { flight_px, group_px } = layout.heights
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
    const head_px = group ? group_px : 0
    if (group && block_px + head_px > top_px) {
      const heading = { kind: 'group', group, key: keyOfGroup(group), folded: count < group.count } as const
      take(heading, block_px, line, head_px)
    }
    const flights_px = block_px + head_px
    const first = Math.max(0, Math.floor((top_px - flights_px) / flight_px))
    const end = Math.min(count, Math.floor((bottom_px - flights_px) / flight_px) + 1)
    for (let own = first; own < end; own++) {
      const index = firstFlight + own
      if (to === 0) from = index
      to = index + 1
      take(
        { kind: 'flight', index, key: String(index) },
        flights_px + own * flight_px,
        line + (group ? 1 : 0) + own,
        flight_px,
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
