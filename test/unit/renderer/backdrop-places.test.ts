import { describe, expect, test } from 'vitest'
import {
  paintedWidth,
  placesOf,
  SLACK_PX,
  type Edges,
  type Scroller,
} from '../../../renderer/compare/backdrop-places.ts'

const scrolled = (scrollTop: number, height = 300): Scroller => ({
  left: 10,
  top: 100,
  right: 610,
  bottom: 100 + height,
  scrollTop,
})
/** Panes of 80 px below each other, each 100 px from the one before, as they stand in a window scrolled so far. */
const panes = (count: number, scrollTop = 0): Edges[] =>
  Array.from({ length: count }, (_, index) => {
    const top = 105 + 100 * index - scrollTop
    return { left: 210, top, right: 600, bottom: top + 80 }
  })

describe('where panes stand on the canvas behind them', () => {
  test('all in sight: the canvas is as large as they are together', () => {
    const { extent, places } = placesOf(scrolled(0), panes(3), 1, null)
    expect(extent).toEqual({ left: 200, top: 5, width: 390, height: 280 })
    expect(places.map(({ top }) => top)).toEqual([0, 100, 200])
    expect(places[1]).toEqual({ left: 0, top: 100, width: 390, height: 80, ratio: 1 })
  })

  test('a place and its pane fall on the same pixels of the screen, whatever the parts of pixels', () => {
    const scroller = { ...scrolled(0), left: 10.4, top: 100.3 }
    for (const ratio of [1, 1.25, 2]) {
      const given = [0, 1, 2].map((n) => ({
        left: 210.45,
        top: 105.6 + 83.7 * n,
        right: 600.5,
        bottom: 170.2 + 83.7 * n,
      }))
      const { extent, places } = placesOf(scroller, given, ratio, null)
      const origin = { x: Math.round(scroller.left * ratio), y: Math.round(scroller.top * ratio) }
      places.forEach((place, index) => {
        const pane = given[index]!
        expect(origin.x + extent.left + place.left).toBe(Math.round(pane.left * ratio))
        expect(place.width).toBeCloseTo(paintedWidth(pane, ratio) * ratio, 9)
        expect(origin.y + extent.top + place.top).toBe(Math.round(pane.top * ratio))
        expect(origin.y + extent.top + place.top + place.height).toBe(Math.round(pane.bottom * ratio))
      })
    }
  })

  test('more rows than are in sight: the canvas holds those near it, and stays while little is scrolled', () => {
    const first = placesOf(scrolled(0), panes(40), 1, null)
    expect(first.extent.top).toBe(5)
    expect(first.extent.height).toBe(300 + SLACK_PX - 5)
    const little = placesOf(scrolled(200), panes(40, 200), 1, first.extent)
    expect(little.extent).toEqual(first.extent)
    expect(little.places).toEqual(first.places)
    const far = placesOf(scrolled(2000), panes(40, 2000), 1, first.extent)
    expect(far.extent.top).toBe(2000 - SLACK_PX)
    expect(far.extent.height).toBe(300 + 2 * SLACK_PX)
    // The pane at the window's top stands where the slack above ends, but for its own 5 px.
    expect(far.places[20]!.top).toBe(SLACK_PX + 5)
  })

  test('the canvas lets go of what is no longer there', () => {
    const before = placesOf(scrolled(0, 900), panes(8), 1, null).extent
    expect(placesOf(scrolled(0, 900), panes(2), 1, before).extent.height).toBe(180)
  })

  test('no pane at all: a canvas of one pixel', () => {
    expect(placesOf(scrolled(0), [], 1, null).extent).toMatchObject({ width: 1, height: 1 })
  })
})
