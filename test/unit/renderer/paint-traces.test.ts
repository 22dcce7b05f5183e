import { describe, expect, test } from 'vitest'
import { paintTraces, type TraceLine } from '../../../renderer/compare/paint-traces.ts'
import { glanceAt } from '../../../renderer/compare/overview-data.ts'
import { buildPyramid } from '../../../workers/reduce/pyramid.ts'
import { makePixels, wordOf } from '../../../workers/reduce/paint-spans.ts'

const COLOURS = {
  background: [255, 255, 255],
  grid: [230, 230, 230],
  a: [0, 0, 255],
  b: [255, 0, 0],
} as const

/** Samples at 100 Hz, without those from `gap[0]` to `gap[1]`. */
function flightOf(value: (n: number) => number, gap?: readonly [number, number], count = 1000) {
  const rows = Array.from({ length: count }, (_, n) => n).filter((n) => !gap || n < gap[0] || n >= gap[1])
  const samples = Float32Array.from(rows, value)
  return {
    signals: {
      t_s: Float64Array.from(rows, (n) => n / 100),
      rate_hz: 100,
      channels: { 'gyro.roll': samples, 'motor.1': samples },
    },
    pyramids: { 'gyro.roll': buildPyramid(samples), 'motor.1': buildPyramid(samples) },
  }
}
const line = (part: Partial<TraceLine>): TraceLine => ({
  side: 'a',
  channel: 'gyro.roll',
  flight: flightOf(() => 0),
  shift_s: 0,
  range: { min: -1, max: 1 },
  demand: false,
  thin: false,
  faint: false,
  ...part,
})
/** Columns in which something is painted that is more of this colour's first or last byte than of the other. */
const columnsWith = (pixels: ReturnType<typeof makePixels>, side: 'a' | 'b') => {
  const found = new Set<number>()
  for (let pixel = 0; pixel < pixels.words.length; pixel++) {
    const [red, blue] = [pixels.bytes[4 * pixel]!, pixels.bytes[4 * pixel + 2]!]
    if (side === 'a' ? blue > red + 60 : red > blue + 60) found.add(pixel % pixels.width)
  }
  return found
}
const paint = (lines: readonly TraceLine[], width = 200) => {
  const pixels = makePixels(width, 40)
  paintTraces(pixels, lines, { t0_s: 0, t1_s: 10 }, { x: [], y: [] }, COLOURS, 1)
  return pixels
}

describe('a pane', () => {
  test('a gap of the clock stays empty, whether samples are many a column or few', () => {
    for (const width of [50, 200, 900]) {
      const drawn = columnsWith(paint([line({ flight: flightOf(() => 0, [400, 600]) })], width), 'a')
      expect(drawn.has(Math.round(0.2 * width))).toBe(true)
      for (let share = 0.42; share < 0.58; share += 0.02)
        expect(drawn.has(Math.round(share * width))).toBe(false)
      expect(drawn.has(Math.round(0.8 * width))).toBe(true)
    }
  })

  test('B stands where the alignment lays it', () => {
    const late = flightOf((n) => (n >= 300 && n < 310 ? 1 : -1))
    const rowOf = (shift_s: number) => {
      const pixels = paint([line({ flight: late, shift_s, range: { min: -1.2, max: 1.2 } })])
      const top = pixels.words.subarray(0, 200 * 10)
      return [...top.keys()]
        .filter((index) => top[index] !== wordOf(COLOURS.background))
        .map((index) => index % 200)
    }
    expect(Math.min(...rowOf(0))).toBeGreaterThanOrEqual(58)
    expect(Math.max(...rowOf(0))).toBeLessThanOrEqual(63)
    expect(Math.min(...rowOf(2)) - Math.min(...rowOf(0))).toBeCloseTo(40, -0.5)
  })

  test('a trace that stands out lies above all others, at full strength', () => {
    const pixels = paint([line({}), line({ side: 'b', faint: true })])
    expect(columnsWith(pixels, 'a').size).toBe(200)
    expect(columnsWith(pixels, 'b').size).toBe(0)
  })
})

describe('the strip of a whole flight', () => {
  test('tells where a motor stood at its end and where samples are missing', () => {
    const glance = glanceAt(
      flightOf((n) => (n >= 700 && n < 720 ? 1 : 0.5), [200, 300]) as never,
      { t0_s: 0, t1_s: 10 },
      100,
    )
    const where = (flags: Uint8Array) => [...flags.keys()].filter((column) => flags[column] === 1)
    expect(where(glance.gap)[0]).toBeGreaterThanOrEqual(19)
    expect(where(glance.gap).at(-1)).toBeLessThanOrEqual(30)
    expect(where(glance.gap).length).toBeGreaterThanOrEqual(10)
    expect(where(glance.saturated)).toEqual([70, 71])
  })
})
