import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { isoSeconds } from '../../../workers/clock/iso-stamp.ts'

describe('stamps as text', () => {
  test('any instant that the engine writes reads back to the millisecond', () => {
    fc.assert(
      fc.property(
        fc.date({ min: new Date('0100-01-01'), max: new Date('9999-12-31'), noInvalidDate: true }),
        (date) => {
          expect(Number(isoSeconds(date.toISOString()))).toBe(date.getTime() / 1000)
        },
      ),
    )
  })

  test.each([
    // 1,000,000,000 s since 1970 was 2001-09-09T01:46:40Z; 1e9 and 2e9 are in the manual of date(1) and many others.
    ['2001-09-09T01:46:40Z', '1000000000'],
    ['2033-05-18 03:33:20', '2000000000'],
    ['2001-09-09T03:46:40.000000001+02:00', '1000000000.000000001'],
    ['2001-09-08T19:46:40,5-0600', '1000000000.5'],
    ['20010909T014640Z', '1000000000'],
    ['2001/09/09 01:46:40 UTC', '1000000000'],
    ['2001-09-09T01:46', '999999960'],
    ['1969-12-31T23:59:59.25Z', '-0.75'],
    ['1969-12-31T23:59:58.999Z', '-1.001'],
    ['2016-12-31T23:59:60Z', '1483228800'],
    ['2024-02-29T00:00:00Z', '1709164800'],
    ['17:30:00.125', '63000.125'],
    ['0:00:01', '1'],
  ])('%s is %s s', (text, seconds) => expect(isoSeconds(text)).toBe(seconds))

  test.each([
    '2023-02-29T00:00:00',
    '2024-13-01T00:00',
    '2024-05-01',
    '2024-05-01T25:00',
    '24:00:00',
    '1.5e300',
    '',
  ])('%j is none', (text) => expect(isoSeconds(text)).toBeNull())
})
