import { expect, test } from 'vitest'
import { withScratch } from '../../../workers/signal/scratch.ts'

test('what is on loan at one time never overlaps, nested or not', () => {
  withScratch((outer) => {
    const first = outer.doubles(1000).fill(1)
    const odd = outer.singles(3).fill(2)
    const large = outer.doubles(600_000).fill(3)
    withScratch((inner) => {
      inner.singles(5000).fill(-1)
      inner.doubles(700_000).fill(-1)
    })
    const later = outer.doubles(10).fill(4)
    expect(first.every((value) => value === 1)).toBe(true)
    expect(odd.every((value) => value === 2)).toBe(true)
    expect(large.every((value) => value === 3)).toBe(true)
    expect(later.every((value) => value === 4)).toBe(true)
  })
})

test('the same memory is lent again, after a throw as well', () => {
  const place = () =>
    withScratch((scratch) => {
      const { buffer, byteOffset } = scratch.doubles(100)
      return { buffer, byteOffset }
    })
  const before = place()
  expect(() =>
    withScratch((scratch) => {
      scratch.doubles(100)
      throw new Error('in between')
    }),
  ).toThrow('in between')
  expect(place()).toEqual(before)
  expect(place().buffer).toBe(before.buffer)
})

test('arrays have the length asked for, none at all included', () => {
  withScratch((scratch) => {
    expect(scratch.doubles(0)).toHaveLength(0)
    expect(scratch.singles(7)).toHaveLength(7)
    expect(scratch.doubles(7)).toHaveLength(7)
  })
})

test('of a very large loan the memory is not kept', () => {
  const large = () => withScratch((scratch) => scratch.doubles(6_000_000).buffer)
  expect(large()).not.toBe(large())
})
