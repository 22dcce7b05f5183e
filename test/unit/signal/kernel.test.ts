import { describe, expect, test } from 'vitest'
import { coherence, crossSpectra, segmentedSpectra, stepsOf } from '../../../workers/signal/cross-spectra.ts'
import { kernelCrosses, kernelTakes } from '../../../workers/signal/kernel/spectra-kernel.ts'
import { SYSTEMS_WASM } from '../../../workers/response/kernel/systems-wasm.ts'
import { PRODUCTS_WASM } from '../../../workers/signal/kernel/products-wasm.ts'
import { SPECTRA_WASM } from '../../../workers/signal/kernel/spectra-wasm.ts'
import { FLOOR_DB, spectrogram } from '../../../workers/signal/spectrogram.ts'
import { compileKernel } from '../../../electron/build-kernels.ts'
import { welch } from '../../../workers/signal/welch.ts'
import { noSharedData, normalInput, quadFlight, sharedColumns } from './series.ts'

/** Like a gyro: lines of very different size over noise, on an offset. */
function gyroLike(count: number): Float32Array {
  const noise = normalInput(3, count)
  return Float32Array.from(
    noise,
    (value, n) =>
      300 * Math.sin(0.01 * n) + 20 * Math.sin(0.9 * n) + 0.01 * Math.sin(2.5 * n) + 0.05 * value + 40,
  )
}

/** Largest difference in dB among the levels within 90 dB of their frame's peak. */
function worstDifference(
  samples: ArrayLike<number>,
  options: { rate_hz: number; window: number; hop: number },
): number {
  const exact = spectrogram(samples, { ...options, exact: true })
  const single = spectrogram(samples, options)
  let worst = 0
  for (let frame = 0; frame < exact.frames; frame++) {
    const row = exact.level_db.subarray(frame * exact.bins, (frame + 1) * exact.bins)
    const peak = Math.max(...row)
    row.forEach((level, k) => {
      if (level > peak - 90)
        worst = Math.max(worst, Math.abs(level - single.level_db[frame * exact.bins + k]!))
    })
  }
  return worst
}

describe('compiled kernel', () => {
  // Long enough to be laid into the kernel's memory in parts.
  const one = gyroLike(300_001)
  // Some samples later, so that both parts of their cross-spectra are there.
  const other = one.map((_, n) => 0.5 * one[Math.max(0, n - 3)]! + Math.sin(0.3 * n))
  const runs = [
    { start: 0, end: 123_457 },
    { start: 123_460, end: 300_001 },
  ]
  const closeTo = (found: Float64Array, wanted: Float64Array) => {
    const scale = Math.max(...wanted.map(Math.abs))
    found.forEach((value, k) => expect(Math.abs(value - wanted[k]!)).toBeLessThan(2e-6 * scale))
  }

  test('forms steps as they are formed outside', () => {
    const options = { rate_hz: 1000, segment: 512, runs, single: true }
    const inside = crossSpectra(one, other, { ...options, ofSteps: true })
    const outside = crossSpectra(stepsOf(one), stepsOf(other), { ...options, single: false })
    for (const part of ['uu', 'yy', 'uyRe', 'uyIm'] as const) closeTo(inside[part], outside[part])
    const plain = crossSpectra(one, other, { ...options, ofSteps: true, single: false })
    closeTo(plain.uyIm, outside.uyIm)
  })

  test('takes one series off the other as it is done outside', () => {
    const options = { rate_hz: 1000, segment: 512, runs }
    const rest = Float64Array.from(one, (value, n) => value - other[n]!)
    const outside = welch(rest, options)
    closeTo(welch(one, { ...options, less: other, single: true }).density, outside.density)
    closeTo(welch(one, { ...options, less: other }).density, outside.density)
  })

  test('is there', () => {
    expect(kernelTakes(512, 100)).toBe(true)
    expect(kernelCrosses(1024)).toBe(true)
    expect(kernelTakes(500, 100)).toBe(false)
    expect(kernelTakes(512, 3)).toBe(false)
    expect(kernelCrosses(100)).toBe(false)
  })

  // Required: single precision within 0.03 dB of double within 90 dB of the frame's peak.
  test.each([
    [16, 4, 200],
    [32, 8, 64 + 3 * 8],
    [64, 64, 2000],
    [128, 37, 3000],
    [256, 32, 256 + 3 * 32],
    [256, 64, 30_000],
    [512, 64, 40_000],
    [1024, 100, 20_000],
    [2048, 512, 20_000],
  ])('agrees with the plain code: window %i, hop %i, %i samples', (window, hop, count) => {
    expect(worstDifference(gyroLike(count), { rate_hz: 2000, window, hop })).toBeLessThan(0.03)
  })

  test('agrees on samples of 64 bits and on plain arrays', () => {
    const samples = gyroLike(2000)
    const options = { rate_hz: 1000, window: 128, hop: 32 }
    const plain = spectrogram(samples, options).level_db
    expect(spectrogram(Float64Array.from(samples), options).level_db).toEqual(plain)
    expect(spectrogram(Array.from(samples), options).level_db).toEqual(plain)
  })

  test.skipIf(noSharedData)('agrees on the shared series', () => {
    const ecg = sharedColumns('neutral/ecg-360hz.csv.gz')('ecg_mV')
    expect(worstDifference(ecg, { rate_hz: 360, window: 256, hop: 64 })).toBeLessThan(0.03)
    const gyro = quadFlight('gains-original.csv').column('real_rate.p')
    expect(worstDifference(gyro, { rate_hz: 100, window: 64, hop: 8 })).toBeLessThan(0.03)
  })

  test('keeps to the floor, and to frames without NaN', () => {
    const silent = spectrogram(new Float32Array(2000).fill(5), { rate_hz: 1000, window: 64, hop: 16 })
    silent.level_db.forEach((level) => expect(level).toBeCloseTo(FLOOR_DB, 3))
    const samples = gyroLike(3000)
    samples[1500] = NaN
    const { level_db, bins, frames } = spectrogram(samples, { rate_hz: 1000, window: 64, hop: 16 })
    for (let frame = 0; frame < frames; frame++) {
      const holds = frame * 16 <= 1500 && 1500 < frame * 16 + 64
      expect(level_db.subarray(frame * bins, (frame + 1) * bins).some(Number.isNaN)).toBe(holds)
    }
  })

  test('writes into an array it is given when that is long enough', () => {
    const options = { rate_hz: 1000, window: 64, hop: 16 }
    const into = new Float32Array(100_000)
    const again = spectrogram(gyroLike(2000), { ...options, into })
    expect(again.level_db.buffer).toBe(into.buffer)
    expect(again.level_db).toEqual(spectrogram(gyroLike(2000), options).level_db)
    expect(spectrogram(gyroLike(2000), { ...options, into: new Float32Array(10) }).level_db).toEqual(
      again.level_db,
    )
  })

  // Required: single precision within 1e-3 of the peak; in fact it is far better.
  test.each([16, 64, 512, 2048])('crosses like the plain code: segment %i', (segment) => {
    const u = gyroLike(20_000)
    const noise = normalInput(9, 20_000)
    const y = u.map((value, n) => 0.8 * (u[n - 5] ?? 0) + 0.1 * value + 2 * noise[n]!)
    for (const detrend of ['constant', 'none'] as const) {
      const options = { rate_hz: 1000, segment, detrend }
      const exact = crossSpectra(u, y, options)
      const single = crossSpectra(u, y, { ...options, single: true })
      expect(single.segments).toBe(exact.segments)
      for (const part of ['uu', 'yy', 'uyRe', 'uyIm'] as const) {
        const peak = Math.max(...exact[part].map(Math.abs))
        exact[part].forEach((value, k) =>
          expect(Math.abs(single[part][k]! - value) / peak).toBeLessThan(1e-5),
        )
      }
      const g2 = coherence(exact)
      // With the means taken off, the first bins hold rounding only.
      coherence(single).forEach((value, k) => k > 1 && expect(Math.abs(value - g2[k]!)).toBeLessThan(5e-4))
    }
  })

  test.each([16, 256, 1024])('sums powers like the plain code: segment %i', (segment) => {
    const samples = gyroLike(20_000)
    samples[9000] = NaN
    const exact = welch(samples, { rate_hz: 1000, segment })
    const single = welch(samples, { rate_hz: 1000, segment, single: true })
    const peak = Math.max(...exact.density)
    expect(single.segments).toBe(exact.segments)
    exact.density.forEach((value, k) =>
      expect(Math.abs(single.density[k]! - value) / peak).toBeLessThan(1e-5),
    )
  })

  test('crosses samples of 64 bits as their 32-bit values, also of more than lie in its memory at once', () => {
    const u = gyroLike(270_003)
    const y = u.map((value, n) => value - (u[n - 3] ?? 0))
    const options = { rate_hz: 1000, segment: 1024, single: true }
    const spectra = crossSpectra(Float64Array.from(u), Float64Array.from(y), options)
    expect(spectra).toEqual(crossSpectra(u, y, options))
    const exact = crossSpectra(u, y, { ...options, single: false })
    const peak = Math.max(...exact.uu)
    exact.uu.forEach((value, k) => expect(Math.abs(spectra.uu[k]! - value) / peak).toBeLessThan(1e-5))
  })

  test('crosses groups of any number of segments', () => {
    const u = gyroLike(4000)
    const y = u.map((value) => -value)
    const options = { rate_hz: 1000, segment: 256 }
    const exact = segmentedSpectra(u, y, options, 7)
    const single = segmentedSpectra(u, y, { ...options, single: true }, 7)
    exact.sums.forEach(({ uyRe }, group) => {
      const peak = Math.max(...uyRe.map(Math.abs))
      uyRe.forEach((value, k) =>
        expect(Math.abs(single.sums[group]!.uyRe[k]! - value) / peak).toBeLessThan(1e-5),
      )
    })
  })
})

// All in one place: reading the compiler takes longer than compiling.
test.each([
  ['spectra', SPECTRA_WASM],
  ['products', PRODUCTS_WASM],
  ['systems', SYSTEMS_WASM],
] as const)('the compiled bytes of %s are those of the source', { timeout: 60_000 }, async (name, bytes) => {
  expect(Buffer.from(await compileKernel(name)).toString('base64')).toBe(bytes)
})
