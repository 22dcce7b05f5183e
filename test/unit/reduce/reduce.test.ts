import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { buildPyramid, extremesOf } from '../../../workers/reduce/pyramid.ts'
import { asLine, reduce } from '../../../workers/reduce/reduce.ts'
import { randomInput } from '../signal/series.ts'

/** Smallest and largest finite value by looking at each. */
function slowly(samples: Float32Array, from: number, to: number) {
  const finite = [...samples.subarray(from, to)].filter(Number.isFinite)
  return finite.length ? { min: Math.min(...finite), max: Math.max(...finite) } : { min: NaN, max: NaN }
}

const samplesWithHoles = fc
  .array(
    fc.oneof({ weight: 8, arbitrary: fc.float({ noNaN: true, noDefaultInfinity: true }) }, fc.constant(NaN)),
    {
      maxLength: 700,
    },
  )
  .map((values) => Float32Array.from(values))

describe('pyramid', () => {
  test('gives the extremes of any stretch', () => {
    fc.assert(
      fc.property(
        samplesWithHoles,
        fc.nat(700),
        fc.nat(700),
        fc.integer({ min: 2, max: 20 }),
        (samples, a, b, base) => {
          const [from, to] = [Math.min(a, b, samples.length), Math.min(Math.max(a, b), samples.length)]
          expect(extremesOf(samples, buildPyramid(samples, base), from, to)).toEqual(
            slowly(samples, from, to),
          )
        },
      ),
    )
  })

  test('gives NaN for a stretch of nothing, and refuses a stranger', () => {
    const samples = new Float32Array(100).fill(NaN)
    expect(extremesOf(samples, buildPyramid(samples), 0, 100)).toEqual({ min: NaN, max: NaN })
    expect(() => extremesOf(new Float32Array(5), buildPyramid(samples), 0, 5)).toThrow('100')
    expect(() => buildPyramid(samples, 1)).toThrow('1')
  })

  test('of an empty series is empty', () => {
    const none = new Float32Array(0)
    expect(extremesOf(none, buildPyramid(none), 0, 0)).toEqual({ min: NaN, max: NaN })
  })
})

describe('reduce', () => {
  const t_s = Float64Array.from({ length: 10_000 }, (_, n) => n / 1000)
  const samples = Float32Array.from(randomInput(1, 10_000))
  const pyramid = buildPyramid(samples)

  test('loses no visible extreme, at any span, clock and width', () => {
    const steps = fc.array(fc.oneof(fc.constant(0), fc.double({ min: 0, max: 1, noNaN: true })), {
      minLength: 1,
      maxLength: 400,
    })
    fc.assert(
      fc.property(
        steps,
        samplesWithHoles,
        fc.double({ min: -0.2, max: 1.2, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer({ min: 1, max: 60 }),
        (taken, values, start, share, columns) => {
          const count = Math.min(taken.length, values.length)
          const series = values.subarray(0, count)
          let clock = 0
          const stamps = Float64Array.from(taken.slice(0, count), (step) => (clock += step))
          const t0 = start * clock
          const t1 = t0 + share * clock
          const reduced = reduce(stamps, series, buildPyramid(series, 4), t0, t1, columns)
          const visible = series.filter((_, n) => stamps[n]! >= t0 && stamps[n]! <= t1)
          const whole = slowly(visible, 0, visible.length)
          const seen = reduced.exact
            ? reduced.min.filter((_, k) => reduced.t_s[k]! >= t0 && reduced.t_s[k]! <= t1)
            : Float32Array.from([...reduced.min, ...reduced.max])
          expect(slowly(seen, 0, seen.length)).toEqual(whole)
        },
      ),
      { numRuns: 300 },
    )
  })

  test('puts each extreme into its own column', () => {
    const reduced = reduce(t_s, samples, pyramid, 2, 8, 100)
    expect(reduced.exact).toBe(false)
    expect(reduced.t_s.length).toBe(100)
    for (let k = 0; k < 99; k++) {
      expect({ min: reduced.min[k], max: reduced.max[k] }).toEqual(
        slowly(samples, 2000 + 60 * k, 2060 + 60 * k),
      )
      expect(reduced.t_s[k]).toBeCloseTo(2.03 + 0.06 * k, 9)
    }
  })

  test('keeps gaps: of NaN, and of missing samples', () => {
    const holed = samples.slice().fill(NaN, 4000, 5000)
    const reduced = reduce(t_s, holed, buildPyramid(holed), 0, 10, 100)
    expect([...reduced.min.keys()].filter((k) => Number.isNaN(reduced.min[k]))).toEqual([
      40, 41, 42, 43, 44, 45, 46, 47, 48, 49,
    ])
    const keep = (_: number, n: number) => n < 4000 || n >= 5000
    const short = samples.filter(keep)
    const gapped = reduce(t_s.filter(keep), short, buildPyramid(short), 0, 10, 100)
    expect(gapped.min).toEqual(reduced.min)
    expect(gapped.max).toEqual(reduced.max)
  })

  test('gives the samples themselves when few are visible, one more on either side', () => {
    const reduced = reduce(t_s, samples, pyramid, 3, 3.1, 100)
    expect(reduced.exact).toBe(true)
    expect(reduced.t_s).toEqual(t_s.slice(2999, 3102))
    expect(reduced.min).toEqual(samples.slice(2999, 3102))
    const gapped = reduce(
      t_s.map((t) => (t < 3.05 ? t : t + 1)),
      samples,
      pyramid,
      3,
      4.1,
      100,
      0.0015,
    )
    expect([...gapped.min].filter(Number.isNaN).length).toBe(1)
    expect(gapped.t_s.length).toBe(104)
  })

  test('draws one line: two points per column, in the order that jumps least', () => {
    const line = asLine(reduce(t_s, samples, pyramid, 0, 10, 50))
    expect(line.x.length).toBe(100)
    for (let k = 1; k < 50; k++) {
      const [first, second] = [line.y[2 * k]!, line.y[2 * k + 1]!]
      const pen = line.y[2 * k - 1]!
      expect(Math.abs(first - pen)).toBeLessThanOrEqual(Math.abs(second - pen))
    }
    const exact = asLine(reduce(t_s, samples, pyramid, 3, 3.1, 100))
    expect(exact.x.length).toBe(exact.y.length)
  })

  test('refuses what makes no sense', () => {
    expect(() => reduce(t_s, samples, pyramid, 5, 4, 10)).toThrow('5 to 4')
    expect(() => reduce(t_s, samples, pyramid, 0, 1, 0)).toThrow('0')
    expect(() => reduce(t_s, samples.subarray(1), pyramid, 0, 1, 10)).toThrow('9999')
  })
})
