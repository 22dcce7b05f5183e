import { expect, test } from 'vitest'
import { clockInWords } from '../../../renderer/logbook/words.ts'
import { readClock } from '../../../workers/clock/clock.ts'

test('every count of a clock is told, bursts and drift too', () => {
  const even = Float64Array.from({ length: 2000 }, (_, row) => row / 1000)
  expect(clockInWords(readClock(even))).toBe(
    '0 gaps, 0 repeated and 0 backward stamps, 0 counter wraps, 0 new beginnings, 0 bursts, drift 0 % from beginning to end',
  )
  // Pairs stamped as one every tenth row, three frames missing, steps that grow by 1 %.
  let stamp_s = 0
  const odd = even.map((_, row) => {
    stamp_s += row % 10 === 1 ? 1e-5 : (row === 500 ? 4e-3 : 1e-3) * (1 + row / 200_000)
    return stamp_s
  })
  expect(clockInWords(readClock(odd))).toMatch(
    /^1 gap \(longest 4 ms, 3 frames missing\), 0 repeated and 0 backward stamps, 0 counter wraps, 0 new beginnings, 200 bursts, drift 0\.7\d % from beginning to end$/,
  )
})
