import { describe, expect, test } from 'vitest'
import {
  bandPass,
  Filter,
  lowPass1,
  lowPass2,
  notch,
  responseAt,
  type Coefficients,
} from '../../../workers/model/filters.ts'

/** Minus the phase's slope, ms, by a difference narrow enough for five digits. */
function groupDelay_ms(filter: Coefficients, f_hz: number, rate_hz: number): number {
  const step_hz = 0.01
  const phase = (f: number) => {
    const [re, im] = responseAt(filter, f, rate_hz)
    return Math.atan2(im, re)
  }
  const low = Math.max(1e-6, f_hz - step_hz)
  const high = f_hz + step_hz
  return (-(phase(high) - phase(low)) / (2 * Math.PI * (high - low))) * 1000
}

const gainAt = (filter: Coefficients, f_hz: number, rate_hz: number) =>
  Math.hypot(...responseAt(filter, f_hz, rate_hz))

// Figures computed with SciPy, method.md section 3; there the notch's .1914 ms stands beside 100 Hz, but
// scipy.signal.group_delay (1.10) of these coefficients gives it at 50 Hz and .3464 ms at 100 Hz, and the analog
// formula (1 + x^2) / (Q w0 ((1 - x^2)^2 + x^2/Q^2)) agrees.
describe('group delay', () => {
  test('second-order low-pass, 100 Hz, Q .7071 at 2 kHz', () => {
    const filter = lowPass2(100, Math.SQRT1_2, 2000)
    expect(groupDelay_ms(filter, 0, 2000)).toBeCloseTo(2.232, 3)
    expect(groupDelay_ms(filter, 50, 2000)).toBeCloseTo(2.64, 3)
    expect(groupDelay_ms(filter, 100, 2000)).toBeCloseTo(2.288, 3)
  })

  test('notch, 200 Hz, Q 5 at 8 kHz', () => {
    const filter = notch(200, 5, 8000)
    expect(groupDelay_ms(filter, 0, 8000)).toBeCloseTo(0.1588, 3)
    expect(groupDelay_ms(filter, 50, 8000)).toBeCloseTo(0.1914, 3)
    expect(groupDelay_ms(filter, 100, 8000)).toBeCloseTo(0.3464, 3)
  })

  // Analog first-order: 1/(2 pi 100) = 1.5915 ms at DC, half of it at the corner.
  test('a first-order low-pass at a high rate nears the analog one', () => {
    const filter = lowPass1(100, 64000)
    expect(groupDelay_ms(filter, 0, 64000)).toBeCloseTo(1.5915, 3)
    expect(groupDelay_ms(filter, 100, 64000)).toBeCloseTo(0.7958, 3)
  })
})

describe('gain', () => {
  test('-3 dB at the corner, 1 at DC, 0 at a notch, 1 at a band-pass centre', () => {
    expect(gainAt(lowPass1(70, 4000), 70, 4000)).toBeCloseTo(Math.SQRT1_2, 12)
    expect(gainAt(lowPass2(70, Math.SQRT1_2, 4000), 70, 4000)).toBeCloseTo(Math.SQRT1_2, 12)
    expect(gainAt(lowPass2(70, Math.SQRT1_2, 4000), 0, 4000)).toBeCloseTo(1, 12)
    expect(gainAt(notch(225, 4, 4000), 225, 4000)).toBeCloseTo(0, 12)
    expect(gainAt(notch(225, 4, 4000), 0, 4000)).toBeCloseTo(1, 12)
    expect(gainAt(bandPass(225, 4, 4000), 225, 4000)).toBeCloseTo(1, 12)
  })

  test('a filter run sample by sample has the response computed from its coefficients', () => {
    const rate_hz = 4000
    const f_hz = 180
    for (const coefficients of [lowPass1(90, rate_hz), lowPass2(130, 0.7, rate_hz), notch(225, 4, rate_hz)]) {
      const filter = new Filter(coefficients)
      let re = 0
      let im = 0
      const settle = 4000
      for (let index = 0; index < settle * 2; index++) {
        const angle = (2 * Math.PI * f_hz * index) / rate_hz
        const y = filter.step(Math.cos(angle))
        if (index < settle) continue
        re += (2 * y * Math.cos(angle)) / settle
        im -= (2 * y * Math.sin(angle)) / settle
      }
      const [expectedRe, expectedIm] = responseAt(coefficients, f_hz, rate_hz)
      expect(re).toBeCloseTo(expectedRe, 9)
      expect(im).toBeCloseTo(expectedIm, 9)
    }
  })
})
