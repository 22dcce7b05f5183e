import { describe, expect, test } from 'vitest'
import {
  noiseBandwidth_bins,
  overlapCorrelation,
  responseAt,
  scallopingLoss_db,
  windowSamples,
  windowSum,
  WINDOWS,
  type WindowName,
} from '../../../workers/signal/windows.ts'
import reference from '../../fixtures/signal/spectra.json' with { type: 'json' }

// Computed with SciPy 1.17, after Harris, Proc. IEEE 66(1), 1978, Table I [from memory]:
// bandwidth in bins, scalloping dB, highest sidelobe dB, correlation at 50 % and 75 % overlap.
const FIGURES: Record<WindowName, [number, number, number, number, number]> = {
  rectangular: [1.0, 3.922, -13.3, 0.5, 0.75],
  hann: [1.5, 1.424, -31.5, 0.1667, 0.659],
  hamming: [1.3628, 1.751, -42.7, 0.234, 0.707],
  blackman: [1.7268, 1.099, -58.1, 0.09, 0.567],
}

describe.each(WINDOWS)('%s window', (name) => {
  const window = windowSamples(name, 1024)
  const [bandwidth, scalloping, sidelobe, half, threeQuarters] = FIGURES[name]

  test('has the published figures', () => {
    expect(noiseBandwidth_bins(window)).toBeCloseTo(bandwidth, 4)
    expect(scallopingLoss_db(window)).toBeCloseTo(scalloping, 2)
    expect(Math.abs(overlapCorrelation(window, 512) - half)).toBeLessThan(0.0006)
    expect(Math.abs(overlapCorrelation(window, 256) - threeQuarters)).toBeLessThan(0.0006)
  })

  test('has the published highest sidelobe', () => {
    let falling = true
    let highest = 0
    for (let f = 0.02, previous = Infinity; f < 12; f += 0.02) {
      const response = responseAt(window, f)
      if (falling && response > previous) falling = false
      if (!falling) highest = Math.max(highest, response)
      previous = response
    }
    expect(20 * Math.log10(highest / windowSum(window))).toBeCloseTo(sidelobe, 0)
  })

  test('is periodic: symmetric about its middle, the repeated end left off', () => {
    for (let n = 1; n < 1024; n++) expect(window[n]).toBeCloseTo(window[1024 - n]!, 12)
    expect(window[512]).toBeCloseTo(1, 12)
  })

  test('equals scipy.signal.get_window', () => {
    windowSamples(name, 9).forEach((value, n) => expect(value).toBeCloseTo(reference.windows[name][n]!, 12))
  })
})

test('a window of no length is refused', () => {
  expect(() => windowSamples('hann', 0)).toThrow('0')
})
