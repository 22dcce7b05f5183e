import { describe, expect, test } from 'vitest'
import { filterCausal, filterZeroPhase } from '../../../workers/signal/filtering.ts'
import {
  bandPass,
  butterworthHighPass,
  butterworthLowPass,
  groupDelay_s,
  highPass2,
  lowPass1,
  lowPass1Backward,
  lowPass2,
  notch,
  responseOf,
  type Section,
} from '../../../workers/signal/filters.ts'
import { normalQuantile, studentQuantile, jackknifeError } from '../../../workers/signal/student.ts'
import reference from '../../fixtures/signal/transfer.json' with { type: 'json' }
import { normalInput, randomInput } from './series.ts'

const CHAINS: Record<string, Section[]> = {
  'low-pass 2': butterworthLowPass(2, 100, 2000),
  'low-pass 4': butterworthLowPass(4, 80, 2000),
  'low-pass 6': butterworthLowPass(6, 200, 2000),
  'high-pass 4': butterworthHighPass(4, 30, 2000),
}

describe.each(reference.filters)('Butterworth $kind', (expected) => {
  const chain = CHAINS[expected.kind]!
  const samples = randomInput(9, 400).map((value) => value + 2)

  test('has the response of SciPy', () => {
    expected.f_hz.forEach((f_hz, k) => {
      const ours = responseOf(chain, f_hz, 2000)
      expect(ours.re).toBeCloseTo(expected.re[k]!, 9)
      expect(ours.im).toBeCloseTo(expected.im[k]!, 9)
    })
  })

  test('filters forward as SciPy', () => {
    const ours = filterCausal(chain, samples)
    expected.causal.forEach((value, k) => expect(ours[10 * k]).toBeCloseTo(value, 9))
  })

  test('filters without delay as SciPy, ends included', () => {
    const ours = filterZeroPhase(chain, samples)
    expect(ours.length).toBe(400)
    expected.zeroPhase.forEach((value, k) => expect(ours[10 * k]).toBeCloseTo(value, 8))
  })
})

describe('filters', () => {
  test('notch and band-pass have the coefficients of SciPy', () => {
    const compare = (section: Section, { b, a }: { b: number[]; a: number[] }) => {
      expect([section.b0, section.b1, section.b2]).toEqual(b.map((value) => expect.closeTo(value, 12)))
      expect([section.a1, section.a2]).toEqual(a.slice(1).map((value) => expect.closeTo(value, 12)))
    }
    // SciPy sets the width by tan, the cookbook by sin / 2Q: equal for tan(w/2Q) = sin(w)/(2Q).
    const w = (2 * Math.PI * 200) / 8000
    const quality = Math.sin(w) / (2 * Math.tan(w / 10))
    compare(notch(200, 8000, quality), reference.notch)
    compare(bandPass(200, 8000, quality), reference.peak)
  })

  test('corners lie at -3 dB, centres at 0 dB and -infinity', () => {
    const at = (section: Section, f_hz: number) => responseOf([section], f_hz, 4000).magnitude
    expect(at(lowPass1(90, 4000), 90)).toBeCloseTo(Math.SQRT1_2, 12)
    expect(at(lowPass2(90, 4000), 90)).toBeCloseTo(Math.SQRT1_2, 12)
    expect(at(highPass2(90, 4000), 90)).toBeCloseTo(Math.SQRT1_2, 12)
    expect(at(lowPass1(90, 4000), 0)).toBeCloseTo(1, 12)
    expect(at(bandPass(90, 4000, 3), 90)).toBeCloseTo(1, 12)
    expect(at(notch(90, 4000, 3), 90)).toBeCloseTo(0, 12)
    expect(at(notch(90, 4000, 3), 900)).toBeCloseTo(1, 2)
  })

  test('refuse frequencies that the rate does not carry', () => {
    expect(() => lowPass1(1000, 2000)).toThrow('1000')
    expect(() => lowPass2(0, 2000)).toThrow('0')
    expect(() => notch(100, 2000, 0)).toThrow('0')
    expect(() => butterworthLowPass(3, 100, 2000)).toThrow('3')
  })

  test('filtering is linear and keeps what is steady', () => {
    const chain = CHAINS['low-pass 4']!
    const a = randomInput(1, 300)
    const b = randomInput(2, 300)
    const both = filterZeroPhase(
      chain,
      a.map((value, n) => 2 * value - 5 * b[n]!),
    )
    const ofA = filterZeroPhase(chain, a)
    const ofB = filterZeroPhase(chain, b)
    both.forEach((value, n) => expect(value).toBeCloseTo(2 * ofA[n]! - 5 * ofB[n]!, 10))
    const steady = new Float64Array(200).fill(7)
    filterZeroPhase(chain, steady).forEach((value) => expect(value).toBeCloseTo(7, 9))
    filterCausal(chain, steady, true).forEach((value) => expect(value).toBeCloseTo(7, 9))
  })

  test('without delay, a series turned round comes out turned round', () => {
    const chain = CHAINS['low-pass 2']!
    const samples = randomInput(5, 500)
    const there = filterZeroPhase(chain, samples)
    const back = filterZeroPhase(chain, samples.slice().reverse()).reverse()
    // The two directions differ only by what rings on beyond the ends.
    for (let n = 100; n < 400; n++) expect(back[n]).toBeCloseTo(there[n]!, 4)
  })

  test('works in the room it is given, to the same result', () => {
    const samples = randomInput(6, 300)
    const room = new Float64Array(1000).fill(9)
    const there = filterZeroPhase(CHAINS['low-pass 4']!, samples, room)
    expect(there.buffer).toBe(room.buffer)
    expect(there).toEqual(filterZeroPhase(CHAINS['low-pass 4']!, samples))
    expect(filterZeroPhase(CHAINS['low-pass 4']!, samples, new Float64Array(300))).toEqual(there)
  })

  test('a series shorter than its edges is refused', () => {
    expect(() => filterZeroPhase(CHAINS['low-pass 2']!, new Float64Array(9))).toThrow('more than 9 samples')
  })
})

describe('group delay', () => {
  // Computed with SciPy 1.17. First order, analog: 1/w0 = 1.5915 ms at DC, half of it at the corner.
  test('of a first-order low-pass of 100 Hz approaches the analog one at high rates', () => {
    const chain = [lowPass1(100, 200_000)]
    expect(1000 * groupDelay_s(chain, 0, 200_000)).toBeCloseTo(1.5915, 3)
    expect(1000 * groupDelay_s(chain, 100, 200_000)).toBeCloseTo(0.7958, 3)
  })

  // Computed with SciPy 1.17: ms.
  test.each([
    ['biquad low-pass 100 Hz at DC', [lowPass2(100, 2000, 0.7071)], 0, 2000, 2.232],
    ['biquad low-pass 100 Hz at 50 Hz', [lowPass2(100, 2000, 0.7071)], 50, 2000, 2.64],
    ['biquad low-pass 100 Hz at 100 Hz', [lowPass2(100, 2000, 0.7071)], 100, 2000, 2.288],
    ['notch 200 Hz Q 5 at DC', [notch(200, 8000, 5)], 0, 8000, 0.1588],
    ['notch 200 Hz Q 5 at 50 Hz', [notch(200, 8000, 5)], 50, 8000, 0.1914],
  ])('of a %s', (_, chain, f_hz, rate_hz, delay_ms) => {
    expect(Math.abs(1000 * groupDelay_s(chain, f_hz, rate_hz) - delay_ms)).toBeLessThan(0.0006)
  })

  // Computed with SciPy 1.10: butter(1, 100, fs=2000), and the backward Euler form of the same corner.
  test('of first-order low-passes of 100 Hz at 2 kHz', () => {
    expect(1000 * groupDelay_s([lowPass1(100, 2000)], 100, 2000)).toBeCloseTo(0.80902, 5)
    expect(1000 * groupDelay_s([lowPass1Backward(100, 2000)], 100, 2000)).toBeCloseTo(0.5495, 4)
    expect(1000 * groupDelay_s([lowPass1Backward(100, 2000)], 0, 2000)).toBeCloseTo(1.5915, 4)
  })

  // Closed form of the analog notch: (1/(Q w0)) (1 + x^2)/(1 - x^2)^2 / (1 + (x/(Q (1 - x^2)))^2), x = f/f0.
  test.each([0, 50, 100, 150])('of a notch at a high rate is the analog one at %i Hz', (f_hz) => {
    const x = f_hz / 200
    const ramp = x / (5 * (1 - x * x))
    const analog_s = (1 + x * x) / (1 - x * x) ** 2 / (1 + ramp * ramp) / (5 * 2 * Math.PI * 200)
    expect(groupDelay_s([notch(200, 400_000, 5)], f_hz, 400_000) / analog_s).toBeCloseTo(1, 4)
  })

  test('is the slope of the phase', () => {
    const chain = [lowPass2(80, 1000), notch(150, 1000, 2), lowPass1(60, 1000)]
    for (const f_hz of [5, 33, 90, 200]) {
      const h = 1e-4
      const phase = (f: number) => responseOf(chain, f, 1000).phase_rad
      const slope = -(phase(f_hz + h) - phase(f_hz - h)) / (2 * Math.PI * 2 * h)
      expect(groupDelay_s(chain, f_hz, 1000)).toBeCloseTo(slope, 7)
    }
  })

  test('adds up over a chain, and is undefined on a notch itself', () => {
    const a = lowPass1(50, 1000)
    const b = lowPass2(90, 1000)
    expect(groupDelay_s([a, b], 20, 1000)).toBeCloseTo(
      groupDelay_s([a], 20, 1000) + groupDelay_s([b], 20, 1000),
      12,
    )
    expect(groupDelay_s([notch(100, 1000, 5)], 100, 1000)).toBeNaN()
  })

  test('is what a slow movement is late by', () => {
    const chain = [lowPass2(40, 1000)]
    const slow = Float64Array.from({ length: 4000 }, (_, n) => Math.sin((2 * Math.PI * 2 * n) / 1000))
    const late = filterCausal(chain, slow)
    const delay = groupDelay_s(chain, 2, 1000)
    for (let n = 2000; n < 2500; n += 50) {
      expect(late[n]).toBeCloseTo(Math.sin(2 * Math.PI * 2 * (n / 1000 - delay)), 3)
    }
  })
})

describe('quantiles', () => {
  test.each(reference.student)('Student $probability at $dof equals SciPy', ({ dof, probability, value }) => {
    expect(Math.abs(studentQuantile(probability, dof) / value - 1)).toBeLessThan(2e-3)
  })

  test.each(reference.normal)('normal $probability equals SciPy', ({ probability, value }) => {
    expect(normalQuantile(probability)).toBeCloseTo(value, 7)
  })

  test('the jackknife of a mean is its standard error', () => {
    const values = normalInput(4, 40)
    const mean = values.reduce((sum, value) => sum + value, 0) / 40
    const without = values.map((value) => (40 * mean - value) / 39)
    const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / 39
    expect(jackknifeError(without)).toBeCloseTo(Math.sqrt(variance / 40), 12)
  })
})
