import { describe, expect, test } from 'vitest'
import { chiSquareCdf, chiSquareQuantile, logGamma } from '../../../workers/signal/chi-square.ts'
import { degreesOfFreedom, intervalFactors, linePower, welch } from '../../../workers/signal/welch.ts'
import { windowSamples, type WindowName } from '../../../workers/signal/windows.ts'
import type { Detrend } from '../../../workers/signal/segments.ts'
import reference from '../../fixtures/signal/spectra.json' with { type: 'json' }
import { noSharedData, normalInput, quadFlight, randomInput, sharedColumns } from './series.ts'

function source(name: string): Float64Array {
  if (name === 'random') return randomInput(7, 3000)
  if (name === 'ecg') return sharedColumns('neutral/ecg-360hz.csv.gz')('ecg_mV')
  return quadFlight(name).column('real_rate.r')
}

describe('welch', () => {
  test.skipIf(noSharedData).each(reference.welch)(
    'equals SciPy on $source, $window, $segment, $detrend',
    (expected) => {
      const samples = source(expected.source)
      const ours = welch(samples, {
        rate_hz: expected.rate_hz,
        segment: expected.segment,
        overlap: expected.overlap,
        window: expected.window as WindowName,
        detrend: expected.detrend as Detrend,
      })
      expect(ours.f_hz[ours.f_hz.length - 1]).toBeCloseTo(expected.f_hz_last, 10)
      expect(ours.density.length).toBe(expected.density.length)
      const peak = Math.max(...expected.density)
      expected.density.forEach((value, k) => {
        expect(Math.abs(ours.density[k]! - value)).toBeLessThan(1e-9 * value + 1e-15 * peak)
      })
    },
  )

  // Computed with SciPy: sine of amplitude 50, N = 1000 at 2 kHz, Hann.
  test('reads a sine: density peak 416.667, integral 1250', () => {
    const samples = Float64Array.from(
      { length: 1000 },
      (_, n) => 50 * Math.sin((2 * Math.PI * 200 * n) / 2000),
    )
    const { density, f_hz } = welch(samples, { rate_hz: 2000, segment: 1000 })
    expect(Math.max(...density)).toBeCloseTo(416.667, 3)
    expect(f_hz[density.indexOf(Math.max(...density))]).toBe(200)
    expect(density.reduce((sum, value) => sum + value, 0) * 2).toBeCloseTo(1250, 6)
  })

  test('reads a sine on a bin as its power A^2/2 in a line spectrum, whatever the window', () => {
    const samples = Float64Array.from(
      { length: 4000 },
      (_, n) => 50 * Math.sin((2 * Math.PI * 200 * n) / 2000),
    )
    for (const window of ['hann', 'hamming', 'blackman'] as const) {
      const { density } = welch(samples, { rate_hz: 2000, segment: 500, window })
      const lines = linePower(density, windowSamples(window, 500), 2000)
      expect(Math.max(...lines)).toBeCloseTo(1250, 6)
    }
  })

  // Heinzel, Ruediger, Schilling 2002, section on the test signal: rounding to 1 mV at 10 kHz lays a floor of
  // 1 mV / sqrt(6 rate) = 4.082 uV/rtHz [figure from memory, formula exact].
  test('reads the floor that rounding to 1 mV at 10 kHz lays', () => {
    const rounded = Float64Array.from({ length: 400_000 }, (_, n) => {
      const t = n / 10_000
      const signal = 2.82 * Math.sin(2 * Math.PI * 1234 * t) + Math.sin(2 * Math.PI * 2500.2157 * t)
      return Math.round(1000 * signal) / 1000
    })
    const { density, f_hz } = welch(rounded, { rate_hz: 10_000, segment: 4096, window: 'blackman' })
    const away = density.filter((_, k) => [0, 1234, 2500.2].every((line) => Math.abs(f_hz[k]! - line) > 100))
    const sorted = away.slice().sort()
    const floor = Math.sqrt(away.reduce((sum, value) => sum + value, 0) / away.length)
    expect(1e6 * floor).toBeCloseTo(4.082, 1)
    expect(1e6 * Math.sqrt(sorted[sorted.length >> 1]!)).toBeGreaterThan(3.5)
  })

  test('reads white noise of sigma 3 at 2 kHz as 0.0090', () => {
    const samples = normalInput(11, 200_000).map((value) => 3 * value)
    const { density } = welch(samples, { rate_hz: 2000, segment: 256 })
    const inside = density.subarray(2, 127)
    expect(inside.reduce((sum, value) => sum + value, 0) / inside.length).toBeCloseTo(0.009, 4)
  })

  test('integrates to the variance, scales with the square, ignores an offset', () => {
    const samples = randomInput(5, 4096)
    const options = {
      rate_hz: 500,
      segment: 256,
      window: 'rectangular',
      detrend: 'none',
      overlap: 0,
    } as const
    const plain = welch(samples, options)
    const power = samples.reduce((sum, value) => sum + value * value, 0) / samples.length
    expect((plain.density.reduce((sum, value) => sum + value, 0) * 500) / 256 / power).toBeCloseTo(1, 10)
    const hann = welch(samples, { rate_hz: 500, segment: 256 })
    const moved = welch(
      samples.map((value) => 7 * value + 1000),
      { rate_hz: 500, segment: 256 },
    )
    moved.density.forEach((value, k) => expect(value / hann.density[k]! / 49).toBeCloseTo(1, 6))
  })

  test('has intervals that hold the true density in 95 of 100 cases', () => {
    let inside = 0
    let all = 0
    for (let seed = 1; seed <= 60; seed++) {
      const { low, high } = welch(normalInput(seed * 977, 2560), { rate_hz: 1000, segment: 256 })
      // Bins next to DC lose power with the mean.
      for (let k = 2; k < low.length - 1; k += 3) {
        all++
        if (low[k]! <= 0.002 && high[k]! >= 0.002) inside++
      }
    }
    expect(inside / all).toBeGreaterThan(0.935)
    expect(inside / all).toBeLessThan(0.965)
  })

  test('lets no segment hold a NaN or span a gap, and counts fewer degrees of freedom', () => {
    const samples = randomInput(9, 2560)
    const broken = samples.slice()
    broken[1000] = NaN
    const whole = welch(samples, { rate_hz: 100, segment: 256 })
    const gapped = welch(broken, { rate_hz: 100, segment: 256 })
    expect(whole.segments).toBe(19)
    expect(gapped.segments).toBe(6 + 11)
    expect(gapped.density.every(Number.isFinite)).toBe(true)
    // A break inside the series: as if the two parts were two series.
    const spoilt = samples.map((value, n) => (n < 1001 ? value + 1000 : value))
    const cut = welch(spoilt, { rate_hz: 100, segment: 256, breaks: [1001] })
    expect(cut.segments).toBe(6 + 11)
    expect(Math.max(...cut.density)).toBeLessThan(0.1)
  })

  test('refuses a series shorter than a segment in words', () => {
    expect(() => welch(new Float64Array(100), { rate_hz: 100, segment: 256 })).toThrow('needs 256 samples')
    expect(() => welch(new Float64Array(100), { rate_hz: 0, segment: 64 })).toThrow(
      'rate must be positive: 0',
    )
  })
})

describe.skipIf(noSharedData)('facts of the shared flights', () => {
  // Shared data's README, computed with SciPy 1.10.
  test.each([
    ['gains-original.csv', 'real_rate.r', 1.564],
    ['gains-original.csv', 'real_rate.p', 1.564],
    ['gains-i0-d4.csv', 'real_rate.r', 1.564],
    ['gains-i0-d4.csv', 'real_rate.p', 1.564],
  ])('%s %s peaks at %f Hz', (file, column, peak_hz) => {
    const flight = quadFlight(file)
    const { f_hz, density } = welch(flight.column(column), {
      rate_hz: Math.round(flight.rate_hz * 10) / 10,
      segment: 256,
    })
    expect(f_hz[density.indexOf(Math.max(...density))]).toBeCloseTo(peak_hz, 3)
  })

  test.each(['r', 'p', 'y'])('gains-original has a line at 24 Hz on %s', (axis) => {
    const flight = quadFlight('gains-original.csv')
    const { f_hz, density } = welch(flight.column(`real_rate.${axis}`), {
      rate_hz: flight.rate_hz,
      segment: 256,
    })
    const inBand = [...f_hz.keys()].filter((k) => f_hz[k]! > 20 && f_hz[k]! < 30)
    const best = inBand.reduce((a, b) => (density[b]! > density[a]! ? b : a))
    expect(Math.abs(f_hz[best]! - 24)).toBeLessThan(1)
  })
})

describe('confidence', () => {
  // Computed with SciPy: Hann, half overlap, 19 segments.
  test('Hann 50 %, 19 segments: 36.10 degrees of freedom, x0.6617 to x1.6859', () => {
    const starts = Array.from({ length: 19 }, (_, k) => k * 128)
    const dof = degreesOfFreedom(windowSamples('hann', 256), 128, starts)
    expect(dof).toBeCloseTo(36.1, 2)
    expect(intervalFactors(dof, 0.95).low).toBeCloseTo(0.6617, 4)
    expect(intervalFactors(dof, 0.95).high).toBeCloseTo(1.6859, 4)
  })

  test('20 degrees of freedom: x0.5853 to x2.0853', () => {
    expect(intervalFactors(20, 0.95).low).toBeCloseTo(0.5853, 4)
    expect(intervalFactors(20, 0.95).high).toBeCloseTo(2.0853, 4)
  })

  test.each(reference.chiSquare)('chi-square quantile $probability at $dof equals SciPy', (expected) => {
    const value = chiSquareQuantile(expected.probability, expected.dof)
    expect(value / expected.value).toBeCloseTo(1, 9)
    expect(chiSquareCdf(value, expected.dof)).toBeCloseTo(expected.probability, 10)
  })

  test('ln Gamma of whole numbers is the logarithm of factorials, of a half that of sqrt(pi)', () => {
    expect(logGamma(11)).toBeCloseTo(Math.log(3628800), 12)
    expect(logGamma(0.5)).toBeCloseTo(0.5 * Math.log(Math.PI), 12)
    expect(() => logGamma(0)).toThrow('0')
  })
})
