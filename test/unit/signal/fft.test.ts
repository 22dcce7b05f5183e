import { describe, expect, test } from 'vitest'
import { complexFft, nextPowerOfTwo, realFft } from '../../../workers/signal/fft.ts'
import reference from '../../fixtures/signal/spectra.json' with { type: 'json' }
import { randomInput } from './series.ts'

const SIZES = [1, 2, 3, 4, 5, 8, 12, 16, 27, 32, 64, 100, 101, 127, 128, 250, 256, 360, 512, 1000, 1024]

function transform(samples: ArrayLike<number>) {
  const plan = realFft(samples.length)
  const re = new Float64Array(plan.bins)
  const im = new Float64Array(plan.bins)
  plan.forward(samples, re, im)
  return { re, im, plan }
}

/** The definition, summed directly. */
function slowly(samples: ArrayLike<number>, k: number) {
  let re = 0
  let im = 0
  for (let n = 0; n < samples.length; n++) {
    const angle = (-2 * Math.PI * ((k * n) % samples.length)) / samples.length
    re += samples[n]! * Math.cos(angle)
    im += samples[n]! * Math.sin(angle)
  }
  return { re, im }
}

describe('real transform', () => {
  test.each(SIZES)('of length %i equals its definition', (size) => {
    const samples = randomInput(size, size)
    const { re, im, plan } = transform(samples)
    expect(re.length).toBe(Math.floor(size / 2) + 1)
    for (let k = 0; k < plan.bins; k++) {
      const expected = slowly(samples, k)
      expect(re[k]).toBeCloseTo(expected.re, 10)
      expect(im[k]).toBeCloseTo(expected.im, 10)
    }
  })

  test.each(SIZES)('of length %i comes back by its inverse', (size) => {
    const samples = randomInput(size + 1, size)
    const { re, im, plan } = transform(samples)
    const back = new Float64Array(size)
    plan.inverse(re, im, back)
    back.forEach((value, n) => expect(value).toBeCloseTo(samples[n]!, 12))
  })

  test.each(SIZES)('of length %i keeps the energy (Parseval)', (size) => {
    const samples = randomInput(size + 2, size)
    const { re, im } = transform(samples)
    const inTime = samples.reduce((sum, value) => sum + value * value, 0)
    const inFrequency = re.reduce((sum, value, k) => {
      const twice = k === 0 || 2 * k === size ? 1 : 2
      return sum + twice * (value ** 2 + im[k]! ** 2)
    }, 0)
    expect(inFrequency / size / inTime).toBeCloseTo(1, 12)
  })

  test('is linear', () => {
    const a = randomInput(1, 100)
    const b = randomInput(2, 100)
    const both = transform(a.map((value, n) => 3 * value - 2 * b[n]!))
    const ofA = transform(a)
    const ofB = transform(b)
    both.re.forEach((value, k) => expect(value).toBeCloseTo(3 * ofA.re[k]! - 2 * ofB.re[k]!, 11))
    both.im.forEach((value, k) => expect(value).toBeCloseTo(3 * ofA.im[k]! - 2 * ofB.im[k]!, 11))
  })

  test('of a shifted series turns by the shift', () => {
    const size = 96
    const samples = randomInput(3, size)
    const shifted = samples.map((_, n) => samples[(n - 5 + size) % size]!)
    const before = transform(samples)
    const after = transform(shifted)
    for (let k = 0; k < before.re.length; k++) {
      const angle = (-2 * Math.PI * k * 5) / size
      expect(after.re[k]).toBeCloseTo(before.re[k]! * Math.cos(angle) - before.im[k]! * Math.sin(angle), 11)
      expect(after.im[k]).toBeCloseTo(before.im[k]! * Math.cos(angle) + before.re[k]! * Math.sin(angle), 11)
    }
  })

  test.each(reference.transforms)('equals NumPy at length $size', ({ size, re, im }) => {
    const ours = transform(randomInput(size, size))
    re.forEach((value, k) => expect(ours.re[k]).toBeCloseTo(value, 12))
    im.forEach((value, k) => expect(ours.im[k]).toBeCloseTo(value, 12))
  })

  test('refuses wrong sizes', () => {
    expect(() => realFft(0)).toThrow('0')
    expect(() => realFft(2.5)).toThrow('2.5')
    expect(() => realFft(8).forward(new Float64Array(7), new Float64Array(5), new Float64Array(5))).toThrow(
      '7',
    )
  })
})

describe('complex transform', () => {
  test.each([1, 2, 6, 8, 31, 64])('of length %i comes back by its inverse', (size) => {
    const re = randomInput(4, size)
    const im = randomInput(5, size)
    const plan = complexFft(size)
    const workRe = re.slice()
    const workIm = im.slice()
    plan.forward(workRe, workIm)
    plan.inverse(workRe, workIm)
    workRe.forEach((value, n) => expect(value).toBeCloseTo(re[n]!, 12))
    workIm.forEach((value, n) => expect(value).toBeCloseTo(im[n]!, 12))
  })
})

test('nextPowerOfTwo', () => {
  expect([1, 2, 3, 4, 5, 1000, 1024, 1025].map(nextPowerOfTwo)).toEqual([1, 2, 4, 4, 8, 1024, 1024, 2048])
})
