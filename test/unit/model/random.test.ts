import { expect, test } from 'vitest'
import { Random, seedFor } from '../../../workers/model/random.ts'

// From the authors' reference code (xoshiro128starstar.c, version 1.1) with state 1, 2, 3, 4; the same ten values
// stand in the tests of Rust's rand_xoshiro.
test('xoshiro128** gives the reference sequence', () => {
  const random = new Random([1, 2, 3, 4])
  const drawn = Array.from({ length: 10 }, () => random.bits())
  expect(drawn).toEqual([
    11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804,
  ])
})

test('one seed, one sequence; another seed, another', () => {
  const draw = (seed: number) => {
    const random = new Random(seed)
    return Array.from({ length: 20 }, () => random.normal())
  }
  expect(draw(7)).toEqual(draw(7))
  expect(draw(7)).not.toEqual(draw(8))
  expect(seedFor(7, 'air')).not.toBe(seedFor(7, 'gyro'))
})

// Moments and tail of the standard normal; limits are 5 standard errors of a million draws.
test('normal draws have the moments, middle and tail of a normal distribution', () => {
  const random = new Random(11)
  const count = 1_000_000
  const sums = [0, 0, 0, 0]
  let beyond1 = 0
  let beyond3_5 = 0
  for (let index = 0; index < count; index++) {
    const x = random.normal()
    for (let power = 0; power < 4; power++) sums[power]! += x ** (power + 1)
    if (Math.abs(x) > 1) beyond1++
    if (Math.abs(x) > 3.5) beyond3_5++
  }
  const [mean, square, cube, fourth] = sums.map((sum) => sum / count) as [number, number, number, number]
  expect(Math.abs(mean)).toBeLessThan(5 / Math.sqrt(count))
  expect(Math.abs(square - 1)).toBeLessThan(5 * Math.sqrt(2 / count))
  expect(Math.abs(cube)).toBeLessThan(5 * Math.sqrt(15 / count))
  expect(Math.abs(fourth - 3)).toBeLessThan(5 * Math.sqrt(96 / count))
  // 2 (1 - Phi(1)) and 2 (1 - Phi(3.5)): .317311 and .000465258, from tables.
  expect(Math.abs(beyond1 / count - 0.317311)).toBeLessThan(5 * Math.sqrt(0.2166 / count))
  expect(Math.abs(beyond3_5 / count - 0.000465258)).toBeLessThan(5 * Math.sqrt(0.000465 / count))
})
