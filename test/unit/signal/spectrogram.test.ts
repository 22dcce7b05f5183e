import { describe, expect, test } from 'vitest'
import { FLOOR_DB, spectrogram, spectrogramLayout } from '../../../workers/signal/spectrogram.ts'
import reference from '../../fixtures/signal/spectra.json' with { type: 'json' }
import { noSharedData, randomInput, sharedColumns } from './series.ts'

describe('spectrogram', () => {
  test.skipIf(noSharedData)('equals SciPy on the shared ECG series', () => {
    const column = sharedColumns('neutral/ecg-360hz.csv.gz')
    const expected = reference.spectrogram
    const ours = spectrogram(column('ecg_mV'), { ...expected, exact: true })
    expect(ours.frames).toBe(expected.frames)
    expected.picked.forEach((frame, row) => {
      expect(ours.t_s[frame]).toBeCloseTo(expected.t_s[row]!, 9)
      expected.density[row]!.forEach((density, k) => {
        // After the mean is taken off, the first bins hold rounding only.
        const level = Math.max(FLOOR_DB, 10 * Math.log10(density))
        if (level > -100) expect(ours.level_db[frame * ours.bins + k]).toBeCloseTo(level, 4)
      })
    })
  })

  test('puts a tone into its bin at its level in every frame', () => {
    const samples = Float64Array.from(
      { length: 4000 },
      (_, n) => 50 * Math.sin((2 * Math.PI * 250 * n) / 2000),
    )
    const { frames, bins, f_hz, t_s, level_db } = spectrogram(samples, {
      rate_hz: 2000,
      window: 256,
      hop: 64,
    })
    expect([frames, bins]).toEqual([Math.floor((4000 - 256) / 64) + 1, 129])
    expect(t_s[0]).toBe(128 / 2000)
    const bin = f_hz.indexOf(250)
    // A^2/2 over the noise bandwidth of 1.5 bins.
    const level = 10 * Math.log10(1250 / (1.5 * (2000 / 256)))
    for (let frame = 0; frame < frames; frame++) {
      expect(level_db[frame * bins + bin]).toBeCloseTo(level, 3)
    }
  })

  test('gains 20 dB from ten times the rate, and stays on its floor in silence', () => {
    const samples = randomInput(3, 2000)
    const options = { rate_hz: 1000, window: 64, hop: 32 }
    const plain = spectrogram(samples, options)
    const louder = spectrogram(
      samples.map((value) => 10 * value),
      options,
    )
    louder.level_db.forEach((level, k) => {
      if (k % plain.bins > 1) expect(level - plain.level_db[k]!).toBeCloseTo(20, 3)
    })
    expect(spectrogram(new Float32Array(100), options).level_db.every((level) => level === FLOOR_DB)).toBe(
      true,
    )
  })

  test('draws nothing where a frame touches a NaN or spans a break, and everything elsewhere', () => {
    const samples = Float32Array.from(randomInput(4, 1000))
    samples[500] = NaN
    const options = { rate_hz: 100, window: 50, hop: 10, breaks: [205] }
    const { frames, bins, level_db } = spectrogram(samples, options)
    for (let frame = 0; frame < frames; frame++) {
      const start = frame * 10
      const touchesNaN = start <= 500 && 500 < start + 50
      const spansBreak = start < 205 && 205 < start + 50
      const row = level_db.subarray(frame * bins, (frame + 1) * bins)
      expect(row.every(Number.isNaN)).toBe(touchesNaN || spansBreak)
      expect(row.some(Number.isNaN)).toBe(touchesNaN || spansBreak)
    }
  })

  test('reports its progress and stops when asked to', () => {
    const done: number[] = []
    const options = { rate_hz: 100, window: 16, hop: 1, onProgress: (share: number) => done.push(share) }
    spectrogram(new Float32Array(1000), options)
    expect(done[0]).toBe(0)
    expect(done[done.length - 1]).toBe(1)
    expect(done).toEqual([...done].sort((a, b) => a - b))
    expect(() => spectrogram(new Float32Array(1000), { ...options, isCancelled: () => true })).toThrow(
      'no longer wanted',
    )
  })

  test('has no frames when the series is shorter than one', () => {
    const { frames, level_db, f_hz } = spectrogram(new Float32Array(10), { rate_hz: 100, window: 16, hop: 4 })
    expect([frames, level_db.length, f_hz.length]).toEqual([0, 0, 9])
  })
})

describe('layout', () => {
  test.each([
    [100, 6800, 64],
    [500, 60_000, 128],
    [1000, 300_000, 256],
    [2000, 600_000, 256],
    [8000, 2_400_000, 512],
  ])('at %i Hz with %i samples the window is %i', (rate_hz, count, window) => {
    const layout = spectrogramLayout(rate_hz, count)
    expect(layout.window).toBe(window)
    expect(layout.hop).toBeGreaterThanOrEqual(window / 8)
    expect(layout.hop).toBeLessThanOrEqual(window / 2)
  })

  test('a short span gets a shorter window', () => {
    expect(spectrogramLayout(2000, 600).window).toBe(64)
    expect(spectrogramLayout(100, 3)).toEqual({ window: 16, hop: 2 })
  })
})
