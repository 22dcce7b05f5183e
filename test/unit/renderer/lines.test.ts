import { describe, expect, test } from 'vitest'
import type { FlightGroup } from '../../../electron/desk/contract/listing.ts'
import {
  drawnFlight,
  groupOf,
  heightsFor,
  layOut,
  topOf,
  drawnPart,
  visibleLines,
} from '../../../renderer/logbook/lines.ts'

const { flight_px: FLIGHT_HEIGHT_PX, group_px: GROUP_HEIGHT_PX } = heightsFor(16)
const GROUPS: FlightGroup[] = [3, 1, 40, 2].map((count, index) => ({
  craft: `craft ${index}`,
  day: null,
  count,
}))
const TOTAL = 46

/** Every line with its top, by plain counting. */
function allLines(groups: readonly FlightGroup[], total: number) {
  const lines: { top_px: number; height_px: number; index: number | null }[] = []
  let top_px = 0
  let index = 0
  for (const group of groups.length > 0 ? groups : [null]) {
    if (group) {
      lines.push({ top_px, height_px: GROUP_HEIGHT_PX, index: null })
      top_px += GROUP_HEIGHT_PX
    }
    for (let own = 0; own < (group?.count ?? total); own++) {
      lines.push({ top_px, height_px: FLIGHT_HEIGHT_PX, index: index++ })
      top_px += FLIGHT_HEIGHT_PX
    }
  }
  return { lines, height_px: top_px }
}

describe('the lines in sight', () => {
  for (const [name, groups] of [
    ['grouped', GROUPS],
    ['not grouped', []],
  ] as const) {
    test(`are those that counting from the top finds (${name})`, () => {
      const layout = layOut(groups, TOTAL)
      const { lines, height_px } = allLines(groups, TOTAL)
      expect(layout.height_px).toBe(height_px)
      expect(layout.lines).toBe(lines.length)
      for (let top_px = 0; top_px < height_px + 200; top_px += 37) {
        const bottom_px = top_px + 333
        const seen = visibleLines(layout, top_px, bottom_px)
        const expected = lines.filter(
          (line) => line.top_px <= bottom_px && line.top_px + line.height_px > top_px,
        )
        expect(seen.lines.map((line) => (line.kind === 'flight' ? line.index : null))).toEqual(
          expected.map((line) => line.index),
        )
        if (expected.length === 0) continue
        expect(seen.above_px).toBe(expected[0]!.top_px)
        expect(seen.firstLine).toBe(lines.indexOf(expected[0]!))
        const flights = expected.flatMap(({ index }) => index ?? [])
        if (flights.length > 0) expect([seen.from, seen.to]).toEqual([flights[0], flights.at(-1)! + 1])
        const drawn_px = expected.reduce((sum, line) => sum + line.height_px, 0)
        expect(seen.above_px + drawn_px + seen.below_px).toBe(height_px)
      }
    })
  }

  test('of an empty list are none', () => {
    expect(visibleLines(layOut([], 0), 0, 500)).toMatchObject({ lines: [], from: 0, to: 0, below_px: 0 })
  })
})

describe('folded groups', () => {
  const layout = layOut(
    GROUPS,
    TOTAL,
    heightsFor(16),
    ({ craft }) => craft === 'craft 0' || craft === 'craft 2',
  )

  test('draw their headings alone; the flights below keep their places in the list', () => {
    expect(layout.lines).toBe(4 + 1 + 2)
    const { lines } = visibleLines(layout, 0, layout.height_px)
    expect(lines.flatMap((line) => (line.kind === 'flight' ? [line.index] : []))).toEqual([3, 44, 45])
    expect(lines.flatMap((line) => (line.kind === 'group' ? [line.folded] : []))).toEqual([
      true,
      false,
      true,
      false,
    ])
  })

  test('are stepped over by the keys', () => {
    expect(drawnFlight(layout, null, 1)).toBe(3)
    expect(drawnFlight(layout, null, -1)).toBe(45)
    expect(drawnFlight(layout, 3, 1)).toBe(44)
    expect(drawnFlight(layout, 44, -1)).toBe(3)
    expect(drawnFlight(layout, 45, 10)).toBe(45)
    // From a flight that was folded up since, on to the next that is drawn.
    expect(drawnFlight(layout, 20, 1)).toBe(44)
  })

  test('say where a flight stands, and in which group', () => {
    expect(topOf(layout, 3)).toBe(2 * GROUP_HEIGHT_PX)
    expect(topOf(layout, 44)).toBe(4 * GROUP_HEIGHT_PX + FLIGHT_HEIGHT_PX)
    expect(topOf(layout, 20)).toBeNull()
    expect(groupOf(layout, 20)?.craft).toBe('craft 2')
  })

  test('nothing is drawn: nothing to step to', () => {
    expect(
      drawnFlight(
        layOut(GROUPS, TOTAL, heightsFor(16), () => true),
        null,
        1,
      ),
    ).toBeNull()
  })
})

test('what is drawn keeps what was drawn before as far as it is near, and lets go of the rest', () => {
  const sight = { from_px: 1000, to_px: 1700 }
  expect(drawnPart({ from_px: 0, to_px: 0 }, sight, 90, 500)).toEqual({ from_px: 910, to_px: 1790 })
  expect(drawnPart({ from_px: 400, to_px: 1500 }, sight, 90, 500)).toEqual({ from_px: 500, to_px: 1790 })
  expect(drawnPart({ from_px: 1200, to_px: 2600 }, sight, 90, 500)).toEqual({ from_px: 910, to_px: 2200 })
  expect(drawnPart({ from_px: 0, to_px: 0 }, sight, 500, 500)).toEqual({ from_px: 500, to_px: 2200 })
})
