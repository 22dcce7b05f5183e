import { describe, expect, test } from 'vitest'
import {
  averageOf,
  averagesWithoutEach,
  coherence,
  coherenceBias,
  coherenceThreshold,
  crossSpectra,
  h1,
  h1RelativeError,
  segmentedSpectra,
} from '../../../workers/signal/cross-spectra.ts'
import type { Detrend } from '../../../workers/signal/segments.ts'
import { welch } from '../../../workers/signal/welch.ts'
import type { WindowName } from '../../../workers/signal/windows.ts'
import reference from '../../fixtures/signal/transfer.json' with { type: 'json' }
import { noSharedData, normalInput, quadFlight, randomInput } from './series.ts'

function pair(source: string): [Float64Array, Float64Array] {
  if (source === 'random') {
    const a = randomInput(3, 4000)
    const b = randomInput(4, 4000)
    return [a, a.map((value, n) => value + 0.5 * a[(n - 3 + 4000) % 4000]! + 0.3 * b[n]!)]
  }
  const flight = quadFlight(`${source}.csv`)
  return [flight.column('target_rate.r'), flight.column('real_rate.r')]
}

describe('cross-spectra', () => {
  test.each(reference.cross.filter(({ source }) => source === 'random' || !noSharedData))(
    'equal SciPy on $source, $window, $segment, $detrend',
    (expected) => {
      const [u, y] = pair(expected.source)
      const ours = crossSpectra(u, y, {
        rate_hz: expected.rate_hz,
        segment: expected.segment,
        overlap: expected.overlap,
        window: expected.window as WindowName,
        detrend: expected.detrend as Detrend,
      })
      const g2 = coherence(ours)
      const peak = Math.max(...expected.uyRe.map((re, k) => Math.hypot(re, expected.uyIm[k]!)))
      expected.uyRe.forEach((re, k) => {
        expect(Math.abs(ours.uyRe[k]! - re) / peak).toBeLessThan(1e-12)
        expect(Math.abs(ours.uyIm[k]! - expected.uyIm[k]!) / peak).toBeLessThan(1e-12)
        // With the mean taken off, the first bin holds rounding only.
        if (k > 0) expect(g2[k]).toBeCloseTo(expected.coherence[k]!, 8)
      })
    },
  )

  test('hold the spectra that welch gives', () => {
    const [u, y] = pair('random')
    const options = { rate_hz: 500, segment: 200 }
    const both = crossSpectra(u, y, options)
    both.uu.forEach((value, k) => expect(value).toBeCloseTo(welch(u, options).density[k]!, 12))
    both.yy.forEach((value, k) => expect(value).toBeCloseTo(welch(y, options).density[k]!, 12))
  })

  test('of a scaled and delayed series give its gain and delay, coherence 1', () => {
    const u = normalInput(1, 6000)
    const y = u.map((_, n) => 3 * (u[n - 2] ?? 0))
    const spectra = crossSpectra(u, y, { rate_hz: 100, segment: 512 })
    const transfer = h1(spectra)
    for (const k of [10, 60, 110]) {
      expect(Math.hypot(transfer.re[k]!, transfer.im[k]!)).toBeCloseTo(3, 1)
      const delay = -Math.atan2(transfer.im[k]!, transfer.re[k]!) / (2 * Math.PI * spectra.f_hz[k]!)
      expect(delay).toBeCloseTo(0.02, 3)
      expect(coherence(spectra)[k]).toBeGreaterThan(0.999)
    }
  })

  test('exchanging the series turns the phase round', () => {
    const [u, y] = pair('random')
    const there = crossSpectra(u, y, { rate_hz: 1, segment: 64 })
    const back = crossSpectra(y, u, { rate_hz: 1, segment: 64 })
    there.uyRe.forEach((re, k) => expect(re).toBeCloseTo(back.uyRe[k]!, 12))
    there.uyIm.forEach((im, k) => expect(im).toBeCloseTo(-back.uyIm[k]!, 12))
  })

  test('sums over groups of segments add up to the whole', () => {
    const [u, y] = pair('random')
    const options = { rate_hz: 1, segment: 64 }
    const groups = segmentedSpectra(u, y, options, 7)
    const whole = crossSpectra(u, y, options)
    expect(groups.sums.reduce((sum, group) => sum + group.starts.length, 0)).toBe(whole.segments)
    averageOf(groups).uyRe.forEach((re, k) => expect(re).toBeCloseTo(whole.uyRe[k]!, 12))
  })

  test('averages without a group are those of the other segments', () => {
    const [u, y] = pair('random')
    const options = { rate_hz: 1, segment: 100, overlap: 0 }
    const without = averagesWithoutEach(segmentedSpectra(u, y, options, 4))
    const last = crossSpectra(u.subarray(1000), y.subarray(1000), options)
    without[0]!.uyRe.forEach((re, k) => expect(re).toBeCloseTo(last.uyRe[k]!, 10))
    expect(without[0]!.segments).toBe(30)
    expect(() => averagesWithoutEach(segmentedSpectra(u, y, options, 1))).toThrow('two groups')
  })

  test('leave out segments with a NaN in either series', () => {
    const [u, y] = pair('random')
    u[100] = NaN
    y[3000] = NaN
    const spectra = crossSpectra(u, y, { rate_hz: 1, segment: 100 })
    expect(spectra.segments).toBe(1 + 56 + 18)
    expect(spectra.uyRe.every(Number.isFinite)).toBe(true)
  })
})

describe('coherence', () => {
  // Computed: 95 % of coherences of unrelated series lie below.
  test.each([
    [10, 0.2831],
    [20, 0.1459],
    [50, 0.0593],
  ])('threshold for %i averages is %f', (averages, threshold) => {
    expect(coherenceThreshold(averages)).toBeCloseTo(threshold, 4)
  })

  test('of unrelated series passes the threshold in 5 % of bins and averages 1/L', () => {
    const spectra = crossSpectra(normalInput(21, 120_000), normalInput(22, 120_000), {
      rate_hz: 1,
      segment: 6000,
      overlap: 0,
      window: 'rectangular',
    })
    const g2 = coherence(spectra)
    const above = g2.filter((value) => value > coherenceThreshold(spectra.averages)).length / g2.length
    expect(spectra.averages).toBeCloseTo(20, 6)
    expect(above).toBeGreaterThan(0.04)
    expect(above).toBeLessThan(0.06)
    expect(g2.reduce((sum, value) => sum + value, 0) / g2.length).toBeCloseTo(coherenceBias(20), 2)
  })

  // Computed: coherence 0.8 with 20 averages.
  test('of 0.8 with 20 averages leaves a relative error of 0.0791', () => {
    expect(h1RelativeError(0.8, 20)).toBeCloseTo(0.0791, 4)
    expect(h1RelativeError(0, 20)).toBe(Infinity)
  })

  test('proves nothing with one average', () => {
    expect(coherenceThreshold(1)).toBe(1)
    expect(coherenceBias(1)).toBe(1)
    expect(() => coherenceThreshold(10, 0)).toThrow('0')
  })
})
