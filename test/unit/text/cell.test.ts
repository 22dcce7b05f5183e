import { describe, expect, test } from 'vitest'
import fc from 'fast-check'
import { bareCell, cellNumber, whyNoNumber } from '../../../workers/text/cell.ts'
import { ExactDifference } from '../../../workers/text/exact-difference.ts'
import { unitNamed } from '../../../workers/text/unit-words.ts'

describe('one cell', () => {
  test('any double written out reads back to the last bit', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (drawn) => {
        // String(-0) is '0'.
        const value = drawn + 0
        expect(Object.is(cellNumber(String(value), '.'), value)).toBe(true)
        expect(Object.is(cellNumber(String(value).replace('.', ','), ','), value)).toBe(true)
      }),
    )
  })

  test.each(['', 'nan', 'NaN', 'N/A', 'null', '-', 'None'])('%j is no value', (text) => {
    expect(cellNumber(text, '.')).toBeNaN()
  })

  test.each([
    ['abc', '"abc" is not a number'],
    ['1.2.3', '"1.2.3" is not a number'],
    ['0x1F', '"0x1F" is hexadecimal, and only decimal numbers are read'],
    ['1e999', '"1e999" is larger than any number that can be stored'],
    ['1\0', 'there are zero bytes where a number should be'],
    ['1,5', '"1,5" is not a number'],
    ['--5', '"--5" is not a number'],
    ['5-', '"5-" is not a number'],
    ['__proto__', '"__proto__" is not a number'],
    ['constructor', '"constructor" is not a number'],
  ])('%j is refused: %s', (text, why) => {
    expect(cellNumber(text, '.')).toBeNull()
    expect(whyNoNumber(text)).toBe(why)
  })

  test('infinity in words is infinity', () => {
    expect(cellNumber('-inf', '.')).toBe(-Infinity)
    expect(cellNumber('Infinity', ',')).toBe(Infinity)
  })

  test('quotes and spaces come off, tabs do not', () => {
    expect(bareCell(' "a ""b"" c" ')).toBe('a "b" c')
    expect(bareCell('\t1')).toBe('\t1')
    expect(bareCell('"')).toBe('"')
  })
})

describe('exact differences', () => {
  test('nanosecond stamps near 1.7e18 keep every nanosecond', () => {
    fc.assert(
      fc.property(fc.bigInt(0n, 2n ** 53n), fc.integer({ min: 0, max: 10 ** 9 }), (offset, small) => {
        const difference = new ExactDifference()
        const origin = 1_700_000_000_000_000_000n + BigInt(small)
        expect(difference.difference(String(origin), '.')).toBe(0)
        expect(difference.difference(String(origin + offset), '.')).toBe(Number(offset))
        expect(difference.origin).toBe(String(origin))
      }),
    )
  })

  test('seconds with nine decimals', () => {
    const difference = new ExactDifference()
    expect(difference.difference('1700000000.123456789', '.')).toBe(0)
    expect(difference.difference('1700000000.123456790', '.')).toBe(1e-9)
    expect(difference.difference('1700000001', '.')).toBe(0.876543211)
    expect(difference.difference('', '.')).toBeUndefined()
  })
})

test.each([
  ['(deg/s)', 'dps'],
  ['°/s', 'dps'],
  ['rad s⁻¹', 'radps'],
  ['[µs]', 'us'],
  ['ms', 'ms'],
  ['%', 'percent'],
  ['deg', null],
  ['m/s', null],
  ['__proto__', null],
])('the unit %j is %s', (text, unit) => {
  expect(unitNamed(text)).toBe(unit)
})
