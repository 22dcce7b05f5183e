import { describe, expect, test } from 'vitest'
import { medianStep_s } from '../../../workers/clock/clock.ts'
import { clockBreaks, meanRate_hz } from '../../../workers/signal/clock-breaks.ts'
import { interpolationGain, toUniform } from '../../../workers/signal/resample.ts'
import { randomInput } from './series.ts'

const even = (count: number, rate_hz: number) => Float64Array.from({ length: count }, (_, n) => n / rate_hz)

describe('toUniform', () => {
  test('gives back a series whose clock is even already', () => {
    const samples = Float32Array.from(randomInput(1, 500))
    const uniform = toUniform(even(500, 100), samples)
    expect(uniform.rate_hz).toBeCloseTo(100, 9)
    expect(uniform.samples.length).toBe(500)
    uniform.samples.forEach((value, n) => expect(value).toBeCloseTo(samples[n]!, 5))
  })

  test('draws a straight line exactly through any uneven clock', () => {
    const jitter = randomInput(2, 300)
    const t_s = even(300, 100).map((t, n) => t + 0.004 * jitter[n]!)
    const { samples, t0_s, rate_hz } = toUniform(
      t_s,
      t_s.map((t) => 5 * t - 1),
      { rate_hz: 333 },
    )
    samples.forEach((value, n) => {
      if (!Number.isNaN(value)) expect(value).toBeCloseTo(5 * (t0_s + n / rate_hz) - 1, 5)
    })
    expect(samples.filter(Number.isNaN).length).toBe(0)
  })

  test('bridges two lost samples and leaves three empty', () => {
    const keep = (lost: number[]) => even(100, 100).filter((_, n) => !lost.includes(n))
    const two = keep([50, 51])
    expect(toUniform(two, two).samples.every(Number.isFinite)).toBe(true)
    const three = keep([50, 51, 52])
    const { samples } = toUniform(three, three, { rate_hz: 100 })
    expect([...samples.keys()].filter((n) => Number.isNaN(samples[n]))).toEqual([50, 51, 52])
  })

  test('keeps a NaN from spreading beyond its neighbours', () => {
    const samples = Float64Array.from({ length: 50 }, (_, n) => n)
    samples[20] = NaN
    const finer = toUniform(even(50, 100), samples, { rate_hz: 200 }).samples
    expect([...finer.keys()].filter((n) => Number.isNaN(finer[n]))).toEqual([39, 40, 41])
  })

  test('is empty beyond the ends, and takes the last of repeated stamps', () => {
    const { samples } = toUniform([0, 1, 1, 2], [0, 5, 7, 8], { rate_hz: 1, from_s: -1, to_s: 3 })
    expect([...samples]).toEqual([NaN, 0, 7, 8, NaN])
  })
})

// Computed: what straight lines leave of a sine at a sample rate of 2 kHz.
test.each([
  [200, 0.9675],
  [500, 0.8106],
])('straight lines keep of a sine at %i Hz a share of %f', (f_hz, share) => {
  expect(interpolationGain(f_hz, 2000)).toBeCloseTo(share, 4)
  // The same measured: amplitude at f of a sine sampled at 2 kHz and drawn at 64 kHz.
  const sine = (t: number) => Math.sin(2 * Math.PI * f_hz * t)
  const { samples } = toUniform(even(2001, 2000), even(2001, 2000).map(sine), { rate_hz: 64_000 })
  let amplitude = 0
  for (let n = 0; n < 64_000; n++) amplitude += (2 * samples[n]! * sine(n / 64_000)) / 64_000
  expect(amplitude).toBeCloseTo(share, 3)
})

describe('clock', () => {
  test('median, mean rate and breaks', () => {
    const t_s = Float64Array.of(0, 0.01, 0.02, 0.03, 0.06, 0.07, 0.13, 0.14)
    expect(medianStep_s(t_s)).toBeCloseTo(0.01, 12)
    expect(meanRate_hz(t_s)).toBeCloseTo(50, 9)
    expect([...clockBreaks(t_s)]).toEqual([6])
    expect([...clockBreaks(t_s, 0)]).toEqual([4, 6])
    expect(medianStep_s(Float64Array.of(1))).toBeNaN()
  })

  test('breaks are those of the median, whether or not one pass can tell', () => {
    let state = 7
    const random = () => (state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32
    for (const [jitter, lost] of [
      [0, 0],
      [0.3, 0],
      [0.9, 0],
      [0.3, 0.01],
      [0, 0.02],
    ] as const) {
      let t = 0
      const t_s = Float64Array.from({ length: 4000 }, () => {
        t += 0.001 * (random() < lost ? 2 + Math.floor(4 * random()) : 1)
        return t + 0.0005 * jitter * random()
      })
      const median_s = medianStep_s(t_s)
      for (const missing of [0, 1, 2]) {
        const wanted = [...t_s.keys()].filter(
          (n) =>
            n > 0 &&
            t_s[n]! - t_s[n - 1]! > 1.5 * median_s &&
            Math.round((t_s[n]! - t_s[n - 1]!) / median_s) - 1 > missing,
        )
        expect([...clockBreaks(t_s, missing)], `${jitter} ${lost} ${missing}`).toEqual(wanted)
        if (lost > 0) expect(wanted.length).toBeGreaterThan(0)
      }
    }
  })
})
