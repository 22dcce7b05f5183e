/** Stretches without NaN: what follows from known ones is what looking through the samples again would give. */
import { expect, test } from 'vitest'
import { decimated } from '../../../workers/signal/decimate.ts'
import { runsOf, runsOfMeans, runsWithout, type Run } from '../../../workers/signal/segments.ts'

const COUNT = 4001

/** Missing samples here and there, in stretches of all lengths. */
function withHoles(seed: number): Float32Array {
  let state = seed
  const random = () => (state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32
  const samples = Float32Array.from({ length: COUNT }, random)
  for (let n = 0; n < COUNT; n += Math.ceil(300 * random())) {
    const length = Math.floor(9 * random())
    samples.fill(NaN, n, n + length)
    n += length
  }
  return samples
}

test.each([1, 2, 4, 5])('means of %d samples are finite where the samples were', (factor) => {
  for (const seed of [1, 2, 3]) {
    const samples = withHoles(seed)
    for (const gaps of [[], [1000, 1001, 2222, 2224, 3999]]) {
      const { samples: means, breaks } = decimated(samples, factor, gaps)
      expect(runsOfMeans(runsOf([samples], gaps), factor)).toEqual(runsOf([means], breaks))
    }
  }
})

test('runs without the missing stretches of another series are those of both', () => {
  const [one, other] = [withHoles(4), withHoles(5)]
  const missing: Run[] = []
  for (let n = 0; n < COUNT; n++) {
    if (!Number.isNaN(other[n])) continue
    const start = n
    while (n < COUNT && Number.isNaN(other[n])) n++
    missing.push({ start, end: n })
  }
  const gaps = [500, 1500, 1501]
  expect(missing.length).toBeGreaterThan(5)
  expect(runsWithout(runsOf([one], gaps), missing)).toEqual(runsOf([one, other], gaps))
})
