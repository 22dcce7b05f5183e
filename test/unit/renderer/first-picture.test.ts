import { describe, expect, test } from 'vitest'
import { largestOf, outlineByPixel } from '../../../renderer/pair/first-picture.ts'

const f32 = (...values: number[]): Float32Array => Float32Array.from(values)

describe('the first picture', () => {
  test('keeps every extreme, whatever its width', () => {
    const t_s = Float64Array.from({ length: 500 }, (_, block) => block * 0.032)
    const high = Float32Array.from(t_s, (stamp_s) => 100 * Math.sin(stamp_s))
    const low = high.map((value) => value - 7)
    for (const width of [1, 3, 100, 499, 2000]) {
      const seen = outlineByPixel(t_s, { low, high }, 16, width)
      const drawn = (values: Float32Array): number[] => [...values].filter((value) => !Number.isNaN(value))
      expect(Math.max(...drawn(seen.high))).toBe(Math.max(...high))
      expect(Math.min(...drawn(seen.low))).toBe(Math.min(...low))
    }
  })

  test('draws a gap as a gap, and blocks without a value as nothing', () => {
    const t_s = Float64Array.of(0, 1, 8, 9)
    const seen = outlineByPixel(t_s, { low: f32(1, 2, NaN, 4), high: f32(2, 3, NaN, 5) }, 10, 10)
    expect([...seen.low]).toEqual([1, 2, NaN, NaN, NaN, NaN, NaN, NaN, NaN, 4])
    expect([...seen.high]).toEqual([2, 3, NaN, NaN, NaN, NaN, NaN, NaN, NaN, 5])
  })

  test('knows how far any axis goes', () => {
    const reaching = (low: number, high: number) =>
      largestOf({ roll: { low: f32(low), high: f32(high) }, yaw: { low: f32(NaN), high: f32(NaN) } })
    expect(reaching(-10, 400)).toBe(400)
    expect(reaching(-500, 30)).toBe(500)
    expect(reaching(NaN, NaN)).toBe(0)
  })
})
