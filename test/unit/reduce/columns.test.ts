import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { columnsOf, columnSpans } from '../../../workers/reduce/columns.ts'
import type { Gathered } from '../../../workers/reduce/gather.ts'
import { fillPixels, makePixels, paintSpans, wordOf } from '../../../workers/reduce/paint-spans.ts'
import { buildPyramid } from '../../../workers/reduce/pyramid.ts'

const clock = (count: number, rate_hz: number) => Float64Array.from({ length: count }, (_, n) => n / rate_hz)
const spansOf = (
  t_s: Float64Array,
  y: Float32Array,
  t0_s: number,
  t1_s: number,
  columns: number,
  gap_s = Infinity,
) => columnSpans(t_s, y, buildPyramid(y), columnsOf(t_s, t0_s, t1_s, columns), gap_s)

describe('which samples a column holds', () => {
  test('as searching for every edge by itself finds, on any clock', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 40 }), { minLength: 1, maxLength: 400 }),
        fc.integer({ min: 1, max: 90 }),
        fc.integer({ min: -300, max: 3000 }),
        fc.integer({ min: 1, max: 4000 }),
        (steps, columns, from, length) => {
          let now = 0
          const t_s = Float64Array.from(steps, (step) => (now += step > 30 ? 100 * step : step % 4))
          const { edges } = columnsOf(t_s, from, from + length, columns)
          const searched = Array.from({ length: columns + 1 }, (_, column) => {
            const edge_s = column === columns ? from + length : from + column * (length / columns)
            const found = t_s.findIndex((stamp_s) => stamp_s >= edge_s)
            return found < 0 ? t_s.length : found
          })
          expect([...edges]).toEqual(searched)
        },
      ),
    )
  })
})

describe('what a line covers per column', () => {
  test('no extreme is lost, at any length and number of columns', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 5000 }),
        fc.integer({ min: 1, max: 300 }),
        fc.nat(),
        fc.float({ min: 10, max: 100, noNaN: true }),
        (count, columns, where, height) => {
          const y = new Float32Array(count)
          y[where % count] = height
          const { low, high } = spansOf(clock(count, 100), y, 0, (count - 1) / 100 + 1e-9, columns)
          expect(Math.max(...high)).toBe(Math.fround(height))
          expect(Math.min(...low)).toBe(0)
        },
      ),
    )
  })

  test('a single number among samples that are none is not lost, wherever it stands', () => {
    for (const at of [0, 500, 990, 1000, 1002]) {
      const y = new Float32Array(1003).fill(NaN)
      y[at] = 7
      const { low, high } = spansOf(clock(1003, 100), y, 0, 10.021, 10)
      expect(Math.max(...high.filter((value) => !Number.isNaN(value))), `sample ${at}`).toBe(7)
      expect(
        low.filter((value) => value === 7),
        `sample ${at}`,
      ).toHaveLength(1)
    }
  })

  test('an extreme stands in its column, or in the next', () => {
    const y = new Float32Array(100_000)
    y[54_321] = 1
    const { high } = spansOf(clock(100_000, 1000), y, 0, 100, 250)
    expect(Math.abs(high.indexOf(1) - Math.floor(54.321 / 0.4))).toBeLessThanOrEqual(1)
  })

  test('what was gathered last changes nothing, wherever the view is moved to', () => {
    const y = Float32Array.from({ length: 20_000 }, (_, n) => Math.sin(n * n) * (n % 977 === 0 ? NaN : 1))
    // Ends within a block, with a stretch that holds no sample.
    const t_s = clock(20_000, 1000).map((at_s) => (at_s < 7 ? at_s : at_s + 1.5))
    const pyramid = buildPyramid(y)
    const kept = new WeakMap<Float32Array, Gathered>()
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            from_s: fc.integer({ min: -2000, max: 21_000 }).map((ms) => ms / 1000),
            columns: fc.constantFrom(100, 100, 100, 37),
            width_s: fc.constantFrom(0.01, 0.01, 0.01, 0.04, 0.013),
          }),
          { minLength: 2, maxLength: 8 },
        ),
        (views) => {
          for (const { from_s, columns, width_s } of views) {
            const plan = columnsOf(t_s, from_s, from_s + columns * width_s, columns)
            expect(columnSpans(t_s, y, pyramid, plan, Infinity, kept)).toEqual(
              columnSpans(t_s, y, pyramid, plan, Infinity),
            )
          }
        },
      ),
    )
  })

  test('a view dragged along gathers only what comes into it', () => {
    const y = Float32Array.from({ length: 20_000 }, (_, n) => Math.sin(n * n))
    const t_s = clock(20_000, 1000)
    const pyramid = buildPyramid(y)
    const kept = new WeakMap<Float32Array, Gathered>()
    const at = (from_s: number) =>
      columnSpans(t_s, y, pyramid, columnsOf(t_s, from_s, from_s + 10, 100), Infinity, kept)
    const before = at(2.0003)
    // A changed series tells which columns are read anew: those of the last half second.
    y.fill(5)
    for (const { min, max } of pyramid.levels) void (min.fill(5), max.fill(5))
    const after = at(2.5003)
    expect(after.low.slice(0, 94)).toEqual(before.low.slice(5, 99))
    // The first of them touches what lies before.
    expect([...after.low.slice(96)]).toEqual([5, 5, 5, 5])
  })

  test('neighbouring columns touch, so that the line has no holes', () => {
    for (const count of [40, 400, 4000, 40_000]) {
      const y = Float32Array.from({ length: count }, (_, n) => Math.sin((9 * n) / count))
      const { low, high } = spansOf(clock(count, count), y, 0, 0.999, 100)
      for (let k = 1; k < 97; k++) {
        expect(low[k]!, `column ${k} of ${count}`).toBeLessThanOrEqual(high[k - 1]! + 1e-6)
        expect(high[k]!).toBeGreaterThanOrEqual(low[k - 1]! - 1e-6)
      }
    }
  })

  test('between two samples the line is straight, and reaches both edges of the pane', () => {
    const { low, high } = spansOf(clock(3, 1), Float32Array.from([0, 10, 20]), 0.5, 1.5, 10)
    expect(low[0]).toBeCloseTo(5, 5)
    expect(high[0]).toBeCloseTo(6, 5)
    expect(high[9]).toBeCloseTo(15, 5)
  })

  test('a gap of the clock and a missing sample break the line', () => {
    const t_s = Float64Array.of(0, 1, 2, 8, 9, 10)
    const broken = spansOf(t_s, Float32Array.of(1, 1, 1, 1, 1, 1), 0, 10, 10, 3)
    expect([...broken.high].map(Number.isNaN)).toEqual([0, 0, 0, 1, 1, 1, 1, 1, 0, 0].map(Boolean))
    const holed = spansOf(clock(11, 1), Float32Array.of(1, 1, 1, NaN, NaN, NaN, 1, 1, 1, 1, 1), 0, 10, 10)
    expect([...holed.high].map(Number.isNaN)).toEqual([0, 0, 0, 1, 1, 1, 0, 0, 0, 0].map(Boolean))
  })

  test('outside the flight there is nothing', () => {
    const { high } = spansOf(clock(1000, 100), new Float32Array(1000), -10, 20, 30)
    expect(high.findIndex((value) => value === 0)).toBe(10)
    expect(high.findLastIndex((value) => value === 0)).toBe(19)
  })
})

describe('painting', () => {
  const white = [255, 255, 255] as const
  const black = [0, 0, 0] as const

  test('a level line of two pixels in the middle darkens exactly two rows', () => {
    const pixels = makePixels(8, 10)
    fillPixels(pixels, white)
    const flat = new Float32Array(8)
    paintSpans(
      pixels,
      { low: flat, high: flat },
      { min: -1, max: 1 },
      { colour: black, width: 2, opacity: 1 },
    )
    const rows = Array.from({ length: 10 }, (_, y) => pixels.words[y * 8])
    expect(rows.map((word) => word === wordOf(black))).toEqual(
      [4, 5].reduce((all, y) => all.with(y, true), new Array<boolean>(10).fill(false)),
    )
  })

  test('as much is painted as the line covers', () => {
    fc.assert(
      fc.property(
        fc.float({ min: -1, max: 1, noNaN: true }),
        fc.float({ min: 0, max: Math.fround(0.9), noNaN: true }),
        (middle, size) => {
          const pixels = makePixels(1, 40)
          fillPixels(pixels, white)
          const low = Float32Array.of(middle - size / 2)
          const high = Float32Array.of(middle + size / 2)
          const pen = { colour: black, width: 1, opacity: 1 }
          paintSpans(pixels, { low, high }, { min: -2, max: 2 }, pen)
          let painted = 0
          for (let y = 0; y < 40; y++) painted += (255 - pixels.bytes[4 * y]!) / 255
          const climb = (high[0]! - low[0]!) * 10
          expect(painted).toBeCloseTo(climb + Math.min(1.6, Math.sqrt(1 + climb * climb * 0.25)), 1)
        },
      ),
    )
  })

  test('nothing runs over the edge, and a broken line leaves the ground as it is', () => {
    const pixels = makePixels(3, 4)
    fillPixels(pixels, white)
    const spans = { low: Float32Array.of(-9, NaN, 5), high: Float32Array.of(9, NaN, 9) }
    paintSpans(pixels, spans, { min: -1, max: 1 }, { colour: black, width: 1, opacity: 1 })
    for (let y = 0; y < 4; y++)
      expect([...pixels.words.subarray(3 * y, 3 * y + 3)]).toEqual([
        wordOf(black),
        wordOf(white),
        wordOf(white),
      ])
  })
})
