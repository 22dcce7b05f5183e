import { expect, test } from 'vitest'
import type { Axis } from '../../../workers/flight/axes.ts'
import type { MeasureVerdict, VerdictWord } from '../../../workers/verdict/comparison.ts'
import { oneLine } from '../../../workers/verdict/one-line.ts'

/** As much of a judged headline measure as the line is made of. */
const judged = (axis: Axis | null, word: VerdictWord, pairs = 9): MeasureVerdict =>
  ({ axis, word, pairs, label: 'Lag', headline: true, from: 'pairs' }) as MeasureVerdict

test('no clear difference stands over the whole only where nothing flown often enough was left open', () => {
  const alike = judged('roll', 'no clear difference')
  expect(oneLine([alike]).word).toBe('no clear difference')
  expect(oneLine([alike, judged('pitch', "can't tell")]).word).toBe("can't tell")
  // Two turns about yaw settle nothing either way: that is no reason to doubt the rest.
  expect(oneLine([alike, judged('yaw', "can't tell", 2)])).toEqual({
    word: 'no clear difference',
    sentence: 'No clear difference on roll (lag). The rest can’t be told from these two flights.',
  })
})

test('better and worse come before what is alike or open; measures that are no headline say nothing', () => {
  const better = judged('pitch', 'better')
  expect(oneLine([better, judged('roll', "can't tell")]).word).toBe('better')
  expect(oneLine([better, judged('roll', 'worse')]).word).toBe('better and worse')
  expect(oneLine([{ ...better, headline: false }]).word).toBe("can't tell")
})
