import { describe, expect, test } from 'vitest'
import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import {
  findGaps,
  gapMask,
  interpolationGain,
  mend,
  mendClock,
  readClock,
  unbrokenStretches,
  WRAP_S,
} from '../../../workers/clock/clock.ts'
import { nthSmallest } from '../../../workers/clock/nth-smallest.ts'
import { sharedData } from '../../shared-data.ts'

const fromMicroseconds = (stamps: number[]): Float64Array =>
  Float64Array.from(stamps, (stamp) => stamp * 1e-6)

describe('mending a clock', () => {
  test('laws: never decreasing, as long as given, a good clock is left alone', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1e4, max: 1e4, noNaN: true }), { maxLength: 60 }), (stamps) => {
        const mended = mendClock(Float64Array.from(stamps))
        expect(mended.length).toBe(stamps.length)
        for (let row = 1; row < mended.length; row += 1) {
          expect(mended[row]).toBeGreaterThanOrEqual(mended[row - 1] as number)
        }
        const sorted = Float64Array.from(
          stamps.filter((stamp) => Math.abs(stamp) < 1000).map((stamp) => stamp + 0),
        ).sort()
        expect(mendClock(sorted)).toEqual(sorted)
      }),
    )
  })

  test('a counter that starts over (method specification, section 1)', () => {
    expect(WRAP_S).toBeCloseTo(4294.967296, 9)
    const mended = mend(fromMicroseconds([4294966796, 4294967046, 0, 250, 500]))
    expect(mended.wraps).toEqual([2])
    expect((mended.time_s[4] as number) * 1e6).toBeCloseTo(4294967796, 4)
    expect(mended.backward).toBe(0)
  })

  test('a duplicate and a backward step (method specification, section 1)', () => {
    const stamps = fromMicroseconds([1000, 1250, 1250, 1500, 1400, 1750])
    const mended = mend(stamps)
    expect([mended.duplicates, mended.backward, mended.wraps.length]).toEqual([1, 1, 0])
    expect(Array.from(mended.time_s, (stamp) => Math.round(stamp * 1e6))).toEqual([
      1000, 1250, 1250, 1500, 1500, 1750,
    ])
  })

  test('a clock that begins anew goes on a second later; a stray stamp does not make it begin anew', () => {
    const cycle = Array.from({ length: 1000 }, (_, k) => 3000 + k / 100)
    const twice = mend(Float64Array.from([...cycle, ...cycle.map((stamp) => stamp - 2999)]))
    expect(twice.restarts).toEqual([1000])
    expect([twice.wraps.length, twice.backward]).toEqual([0, 0])
    expect(twice.time_s[1000]).toBeCloseTo(3009.99 + 1, 9)
    expect(twice.time_s[1999]).toBeCloseTo(3009.99 + 1 + 9.99, 9)
    const stray = Float64Array.from(cycle)
    stray[500] = 0
    expect(mend(stray)).toMatchObject({ restarts: [], backward: 1 })
    expect(mend(stray).time_s[501]).toBe(cycle[501])
  })

  test('stamps are mended where they stand as well as elsewhere', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 5000 }), { maxLength: 200 }), (stamps) => {
        const falling = [NaN, ...stamps, ...stamps.toSorted((a, b) => a - b), Infinity]
        const elsewhere = mend(Float64Array.from(falling))
        const place = Float64Array.from(falling)
        expect(mend(place, place)).toEqual(elsewhere)
      }),
    )
  })

  test('unreadable stamps are held and counted', () => {
    const mended = mend(Float64Array.of(NaN, 1, Infinity, 2))
    expect(Array.from(mended.time_s)).toEqual([1, 1, 1, 2])
    expect(mended.unreadable).toBe(2)
  })
})

describe('reading a clock', () => {
  test('rates and gaps of a made clock: 1 kHz with 1, 3 and 40 frames missing', () => {
    const missing = new Set([100, 200, 201, 202, ...Array.from({ length: 40 }, (_, k) => 300 + k)])
    const stamps = Float64Array.from(
      Array.from({ length: 1000 }, (_, k) => k).filter((k) => !missing.has(k)),
      (k) => k / 1000,
    )
    const report = readClock(stamps)
    expect(report.rows).toBe(956)
    expect(report.nominalRate_hz).toBeCloseTo(1000, 6)
    expect(report.effectiveRate_hz).toBeCloseTo(955 / 0.999, 6)
    expect([report.gaps, report.missingFrames]).toEqual([3, 44])
    expect(report.longestGap_s).toBeCloseTo(0.041, 9)
    const mask = gapMask(stamps)
    expect(findGaps(stamps).map((gap) => gap.row)).toEqual([99, 198, 295])
    // One missing frame may be interpolated, three may not.
    expect(Array.from(mask.keys()).filter((row) => mask[row] === 1)).toEqual([198, 295])
    expect(unbrokenStretches(mask)).toEqual([
      { from: 0, to: 199 },
      { from: 199, to: 296 },
      { from: 296, to: 956 },
    ])
  })

  test('bursts, jitter and drift of made clocks', () => {
    const even = Float64Array.from({ length: 4001 }, (_, k) => k / 1000)
    expect(readClock(even)).toMatchObject({
      bursts: 0,
      jitter: expect.closeTo(0, 9),
      drift: expect.closeTo(0, 9),
    })
    // Frames handed over in pairs: the second of each pair is stamped 10 us after the first.
    const pairs = even.map((stamp, k) => (k % 2 === 1 ? (even[k - 1] as number) + 1e-5 : stamp))
    expect(readClock(pairs).bursts).toBe(2000)
    const jittered = even.map((stamp, k) => stamp + (k % 2 === 1 ? 1e-4 : 0))
    expect(readClock(jittered).jitter).toBeCloseTo(0.1, 2)
    // A clock whose steps grow by 1 % over the log: 0.75 % between the middles of the first and the last quarter.
    let stamp = 0
    const drifting = even.map((_, k) => (stamp += 0.001 * (1 + (0.01 * k) / 4000)))
    expect(readClock(drifting).drift).toBeCloseTo(0.0075, 4)
  })

  test('too few stamps give no rate', () => {
    expect(readClock(Float64Array.of(5)).effectiveRate_hz).toBeNaN()
    expect(readClock(Float64Array.of(5, 5)).nominalRate_hz).toBeNaN()
    expect(readClock(new Float64Array(0)).duration_s).toBe(0)
  })

  test('amplitude kept by linear interpolation at 2 kHz (method specification, section 1)', () => {
    expect(interpolationGain(200, 2000)).toBeCloseTo(0.9675, 4)
    expect(interpolationGain(500, 2000)).toBeCloseTo(0.8106, 4)
    expect(interpolationGain(0, 2000)).toBe(1)
  })

  // Facts of the shared data's README: rows, duration, mean rate, repeated stamps, gaps.
  const first = (path: string): Float64Array =>
    Float64Array.from(readFileSync(path, 'utf8').trim().split('\n').slice(1), (line) =>
      Number(line.slice(0, line.indexOf(','))),
    )
  const original = sharedData('research-quad/gains-original.csv')
  const bursty = sharedData('neutral/bursty-clock.csv')
  const eight = sharedData('research-quad/figure-eight.csv')
  test.skipIf(!original || !bursty || !eight)('the shared logs', () => {
    const report = readClock(first(original as string))
    expect(report.rows).toBe(6816)
    expect(report.duration_s).toBeCloseTo(68.0875, 4)
    expect(report.effectiveRate_hz).toBeCloseTo(100.0918, 4)
    expect(readClock(first(bursty as string))).toMatchObject({ duplicates: 205, bursts: 205 })
    const stamps = first(eight as string)
    const gaps = readClock(stamps)
    // The README counts steps longer than 25 ms; by the rule of 1.5 medians there are 62 (counted with numpy).
    expect(findGaps(stamps).filter((gap) => gap.length_s > 0.025).length).toBe(33)
    expect(gaps.gaps).toBe(62)
    expect(gaps.longestGap_s).toBeCloseTo(0.085, 3)
    expect(gaps.effectiveRate_hz).toBeCloseTo(99.9, 1)
  })
})

test('the nth smallest is what sorting gives', () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ noNaN: true }), { minLength: 1, maxLength: 80 }),
      fc.nat(),
      (values, pick) => {
        const index = pick % values.length
        const sorted = Float64Array.from(values).sort()
        expect(nthSmallest(Float64Array.from(values), index) + 0).toBe((sorted[index] as number) + 0)
      },
    ),
  )
  expect(nthSmallest(new Float64Array(0), 0)).toBeNaN()
})
