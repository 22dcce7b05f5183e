import { describe, expect, test } from 'vitest'
import {
  electricalToMechanical_rpm,
  findLines,
  folded_hz,
  risingLine,
  rotorLines,
} from '../../../workers/signal/motor-lines.ts'
import { commonSegments, noiseDifference, noiseMap } from '../../../workers/signal/noise-map.ts'
import { spectrogram } from '../../../workers/signal/spectrogram.ts'
import { welch } from '../../../workers/signal/welch.ts'
import { normalInput } from './series.ts'

/** A flight whose throttle stands on steps and whose motors hum with it. */
function humming(rate_hz: number, { seed = 1, noise = 1, hum = 20 } = {}) {
  const count = 60 * rate_hz
  const throttle = Float64Array.from(
    { length: count },
    (_, n) => 0.225 + 0.051 * Math.floor(n / (6 * rate_hz)),
  )
  const white = normalInput(seed, count)
  let phase = 0
  const gyro = Float64Array.from(throttle, (share, n) => {
    phase += (2 * Math.PI * (100 + 250 * share)) / rate_hz
    return hum * Math.sin(phase) + noise * white[n]!
  })
  return { gyro, throttle, rate_hz }
}

/** Where the hum of a throttle bin stands. */
const lineAt = (bin: number): number => 100 + 250 * (0.225 + 0.051 * (bin - 4))

describe('noise map', () => {
  test('shows each throttle the line that the motors make there', () => {
    const { gyro, throttle, rate_hz } = humming(1000)
    const map = noiseMap(gyro, throttle, { rate_hz, segment: 256 })
    expect(map.throttleEdges.length).toBe(21)
    for (let bin = 4; bin < 14; bin++) {
      const row = map.level_db.subarray(bin * map.f_hz.length, (bin + 1) * map.f_hz.length)
      const line = map.f_hz[row.indexOf(Math.max(...row))]!
      expect(Math.abs(line - lineAt(bin))).toBeLessThan(5)
    }
  })

  test('hides throttles that were hardly flown', () => {
    const { gyro, throttle, rate_hz } = humming(1000)
    const map = noiseMap(gyro, throttle, { rate_hz, segment: 256 })
    const shown = (bin: number) => !Number.isNaN(map.level_db[bin * map.f_hz.length + 5])
    expect([0, 3, 4, 13, 14, 19].map(shown)).toEqual([false, false, true, true, false, false])
    expect(map.averages[2]).toBe(0)
    // 6 s without a pause, Hann, 3/4 overlap: about 1.9 averages per segment length.
    expect(map.averages[6]).toBeGreaterThan(40)
    expect(map.averages[6]).toBeLessThan(50)
  })

  test('drops segments in which the throttle crosses more than a bin', () => {
    const { gyro, rate_hz } = humming(1000)
    const ramp = gyro.map((_, n) => 0.5 + 0.4 * Math.sin((2 * Math.PI * n) / 500))
    const map = noiseMap(gyro, ramp, { rate_hz, segment: 256 })
    expect(map.dropped).toBe(1)
    expect(map.level_db.every(Number.isNaN)).toBe(true)
  })

  test('averages power, not decibels: a row is the spectrum that Welch gives', () => {
    const { gyro, throttle, rate_hz } = humming(1000)
    const map = noiseMap(gyro, throttle, { rate_hz, segment: 256 })
    const stretch = gyro.subarray(12_000, 18_000)
    const direct = welch(stretch, { rate_hz, segment: 256, overlap: 0.75 })
    const bin = 6
    direct.density.forEach((density, k) => {
      if (k < 2) return
      expect(Math.abs(map.level_db[bin * map.f_hz.length + k]! - 10 * Math.log10(density))).toBeLessThan(1.5)
    })
  })

  test('differences: none against itself, 6 dB for twice the noise, opposite when exchanged', () => {
    const quiet = humming(1000)
    const loud = { ...quiet, gyro: quiet.gyro.map((value) => 2 * value) }
    const options = { rate_hz: 1000, segment: 256 }
    const a = noiseMap(quiet.gyro, quiet.throttle, options)
    const b = noiseMap(loud.gyro, loud.throttle, options)
    expect(noiseDifference(a, a).overall_db).toBeCloseTo(0, 9)
    expect(noiseDifference(a, b).overall_db).toBeCloseTo(6.0206, 3)
    expect(noiseDifference(b, a).overall_db).toBeCloseTo(-6.0206, 3)
    expect(noiseDifference(a, b).shared).toBe(1)
    expect(noiseDifference(a, b).cautions).toEqual([])
  })

  test('flights of different rates meet on one resolution, below the lower band, with a caution', () => {
    const slow = humming(1000, { hum: 0 })
    const fast = humming(2000, { hum: 0, seed: 5 })
    const segments = commonSegments(1000, 2000)
    expect(segments).toEqual({ a: 128, b: 256 })
    const a = noiseMap(slow.gyro, slow.throttle, { rate_hz: 1000, segment: segments.a })
    const b = noiseMap(fast.gyro, fast.throttle, { rate_hz: 2000, segment: segments.b })
    const difference = noiseDifference(a, b)
    expect(Math.max(...difference.f_hz)).toBeLessThanOrEqual(450)
    // White noise of the same size at twice the rate is spread over twice the band.
    expect(difference.overall_db).toBeCloseTo(-3.01, 0)
    expect(difference.cautions.join()).toContain('1000 and 2000 Hz')
    expect(() =>
      noiseDifference(a, noiseMap(fast.gyro, fast.throttle, { rate_hz: 2000, segment: 128 })),
    ).toThrow('resolution')
  })
})

describe('motor lines', () => {
  // Closed form.
  test.each([
    [1200, 500, 200],
    [1200, 1000, 200],
    [1200, 2000, 800],
    [400, 500, 100],
    [400, 2000, 400],
  ])('%i Hz in a log of %i Hz shows at %i Hz', (f_hz, rate_hz, shown_hz) => {
    expect(folded_hz(f_hz, rate_hz)).toBeCloseTo(shown_hz, 9)
    const tone = Float64Array.from({ length: 4000 }, (_, n) =>
      Math.sin((2 * Math.PI * f_hz * n) / rate_hz + 1),
    )
    const { density, f_hz: bins } = welch(tone, { rate_hz, segment: 1000 })
    expect(bins[density.indexOf(Math.max(...density))]).toBeCloseTo(shown_hz, 6)
  })

  // Closed form: 24,000 rpm are 400 turns a second, three blades pass 1200 times, 7 pole pairs make 168,000.
  test('24,000 rpm with three blades', () => {
    const lines = rotorLines(24_000, 3, 1000)
    expect(lines.map(({ f_hz }) => f_hz)).toEqual([400, 800, 1200, 2400])
    expect(lines.map(({ shown_hz }) => shown_hz)).toEqual([400, 200, 200, 400])
    expect(lines.map(({ folded }) => folded)).toEqual([false, true, true, true])
    expect(electricalToMechanical_rpm(168_000, 7)).toBe(24_000)
    expect(() => electricalToMechanical_rpm(168_000, 0)).toThrow('0')
  })

  test('are found in a spectrum, and nothing is found in noise', () => {
    const noise = normalInput(3, 60_000)
    const tones = noise.map(
      (value, n) => value + 0.3 * Math.sin(2 * Math.PI * 0.1234 * n) + 0.2 * Math.sin(2 * Math.PI * 0.31 * n),
    )
    const lines = findLines(welch(tones, { rate_hz: 1000, segment: 512 }), 20)
    expect(lines.length).toBe(2)
    expect(Math.abs(lines[0]!.f_hz - 123.4)).toBeLessThan(0.5)
    expect(Math.abs(lines[1]!.f_hz - 310)).toBeLessThan(0.5)
    let chance = 0
    for (let seed = 0; seed < 60; seed++) {
      const spectrum = welch(normalInput(100 + 13 * seed, 20_000), { rate_hz: 1000, segment: 512 })
      if (findLines(spectrum, 20).length > 0) chance++
    }
    expect(chance).toBeLessThanOrEqual(6)
  })

  test('that climb with the throttle are found without a speed sensor', () => {
    const { gyro, throttle, rate_hz } = humming(1000, { hum: 3 })
    const line = risingLine(noiseMap(gyro, throttle, { rate_hz, segment: 256 }), 60)!
    for (let bin = 4; bin < 14; bin++) {
      expect(Math.abs(line.f_hz[bin]! - lineAt(bin))).toBeLessThan(5)
    }
    expect(line.f_hz[2]).toBeNaN()
    const none = humming(1000, { hum: 0 })
    expect(risingLine(noiseMap(none.gyro, none.throttle, { rate_hz, segment: 256 }), 60)).toBeNull()
  })
})

// Computed: a chirp of 200 Hz/s at 2 kHz is sharpest with a window of 256 (12.3 Hz wide at -3 dB).
test('a chirp of 200 Hz/s is sharpest at a window of 256', () => {
  const chirp = Float64Array.from({ length: 6000 }, (_, n) => {
    const t = n / 2000
    return Math.sin(2 * Math.PI * (100 * t + 100 * t * t))
  })
  const width = (window: number) => {
    const { level_db, bins, t_s } = spectrogram(
      // Finer bins by zeros would need another window: read the width off a dense scan instead.
      chirp,
      { rate_hz: 2000, window, hop: 16 },
    )
    const frame = t_s.findIndex((t) => t >= 1.5)
    const row = level_db.subarray(frame * bins, (frame + 1) * bins)
    return widthAt3dB(row, 2000 / window)
  }
  const widths = [64, 128, 256, 512, 1024].map(width)
  expect(widths.indexOf(Math.min(...widths))).toBe(2)
  expect(Math.abs(widths[2]! - 12.3)).toBeLessThan(1.5)
})

/** Width of the highest peak 3 dB down, straight in dB between bins about a parabola's top. */
function widthAt3dB(row: Float32Array, step_hz: number): number {
  const peak = row.indexOf(Math.max(...row))
  const [left, middle, right] = [row[peak - 1]!, row[peak]!, row[peak + 1]!]
  const bend = left - 2 * middle + right
  const top = middle - (left - right) ** 2 / (8 * bend)
  const reach = (direction: 1 | -1) => {
    let k = peak
    while (row[k + direction]! > top - 3) k += direction
    return k + (direction * (row[k]! - (top - 3))) / (row[k]! - row[k + direction]!)
  }
  return (reach(1) - reach(-1)) * step_hz
}
