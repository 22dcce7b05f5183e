import { describe, expect, test } from 'vitest'
import type { FlightGroup } from '../../../electron/desk/contract/listing.ts'
import { FLIGHT_HEIGHT_PX, GROUP_HEIGHT_PX, layOut, visibleLines } from '../../../renderer/logbook/lines.ts'

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
