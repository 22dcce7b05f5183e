import { describe, expect, test } from 'vitest'
import { methodNote, withVerdict, wordsByAxis } from '../../../workers/changes/keep-verdict.ts'
import {
  bestSoFar,
  changedValues,
  inOrder,
  isInForce,
  nextStep,
  takenBackBy,
  takenBackIn,
} from '../../../workers/changes/trail.ts'
import { compareSheets } from '../../../workers/settings/compare-sheets.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { change, flight, verdict } from './made.ts'

describe('best so far', () => {
  const judged = (from: number, word: Parameters<typeof verdict>[0], rest = {}) =>
    change(from, { verdict: verdict(word), ...rest })

  test('an empty trail has none; one without a verdict stays with its beginning', () => {
    expect(bestSoFar([])).toBeNull()
    expect(bestSoFar([change(1)])).toMatchObject({ change: null, flight: flight(1) })
  })

  test('goes on with what was judged better, stays at what was judged worse', () => {
    const trail = [
      judged(1, 'better'),
      judged(2, 'no clear difference'),
      judged(3, 'better'),
      judged(4, 'worse'),
    ]
    expect(bestSoFar(trail)).toMatchObject({ change: { id: 'change-3' }, flight: flight(4) })
    expect(bestSoFar([...trail].reverse())?.change?.id).toBe('change-3')
  })

  test('better than something worse is not yet better than the best: it says so', () => {
    const trail = [judged(1, 'better'), judged(2, 'worse'), judged(3, 'better')]
    const best = bestSoFar(trail)
    expect(best?.change?.id).toBe('change-1')
    expect(best?.sentence).toMatch(
      /“roll P: 3 → 4” was judged better than what it came from, but not against this/,
    )
    // Judged against a flight of the best itself it is.
    expect(
      bestSoFar([judged(1, 'better'), judged(2, 'worse'), judged(3, 'better', { before: [flight(2)] })])
        ?.change?.id,
    ).toBe('change-3')
  })

  test('what was undone does not count; the pilot’s own mark comes first', () => {
    const undone = { at_ms: 9, why: '' }
    expect(bestSoFar([judged(1, 'better'), judged(2, 'better', { undone })])?.change?.id).toBe('change-1')
    expect(bestSoFar([judged(1, 'better'), judged(2, 'worse', { best: true })])).toMatchObject({
      change: { id: 'change-2' },
      sentence: 'You called it the best so far.',
    })
    expect(bestSoFar([judged(1, 'better'), judged(2, 'worse', { best: true, undone })])?.change?.id).toBe(
      'change-1',
    )
  })
})

test('a change that was taken back counts no more, unless that was undone', () => {
  const better = change(1, { verdict: verdict('better') })
  const back = change(2, { takesBack: better.id, verdict: verdict('worse') })
  expect(isInForce([better, back], better)).toBe(false)
  expect(takenBackIn([better, back], better)).toBe(back)
  expect(bestSoFar([better, back])?.change).toBeNull()
  const undone = { ...back, undone: { at_ms: 1, why: '' } }
  expect(bestSoFar([better, undone])?.change?.id).toBe(better.id)
})

test('a change that turns back an earlier one is known by its settings', () => {
  const trail = [change(1), change(2)]
  const back = changedValues(
    compareSheets(parseSheet('roll_p = 3.0').settings, parseSheet('roll_p = 2').settings),
  )
  expect(takenBackBy(trail, back)?.id).toBe('change-2')
  expect(takenBackBy([change(1), change(2, { undone: { at_ms: 1, why: '' } })], back)).toBeNull()
  expect(takenBackBy(trail, [...back, { name: 'other', a: '1', b: '2' }])).toBeNull()
  expect(takenBackBy(trail, [])).toBeNull()
})

test('settings that a sheet lacks are kept as missing', () => {
  const found = changedValues(
    compareSheets(parseSheet('a = 1\nb = 2').settings, parseSheet('b = 3\nc = 4').settings),
  )
  expect(found).toEqual([
    { name: 'b', a: '2', b: '3' },
    { name: 'c', a: null, b: '4' },
    { name: 'a', a: '1', b: null },
  ])
})

test('asks to fly A again where each side has one flight', () => {
  expect(nextStep(change(1))).toBeNull()
  expect(nextStep(change(1, { after: [] }))).toMatch(/a flight before and a flight after/)
  const judged = change(1, { verdict: verdict('better') })
  expect(nextStep(judged)).toMatch(/A-B-A/)
  expect(nextStep({ ...judged, before: [flight(1), flight(3)] })).toMatch(/judge again/)
  expect(
    nextStep({
      ...judged,
      before: [flight(1), flight(3)],
      verdict: verdict('better', { repeat: 'Flight 3' }),
    }),
  ).toBeNull()
  expect(nextStep({ ...judged, undone: { at_ms: 1, why: '' } })).toBeNull()
})

test('a kept verdict says when the method has changed since, and stays among the earlier ones', () => {
  const kept = verdict('better')
  expect(methodNote(kept, { id: 'comparison', version: 1 })).toBeNull()
  expect(methodNote(kept, { id: 'comparison', version: 2 })).toMatch(/version 1 of the method; today's is 2/)
  const again = withVerdict(change(1, { verdict: kept }), verdict('worse'))
  expect(again.verdict?.word).toBe('worse')
  expect(again.earlier).toEqual([kept])
})

test('headline words by axis, and the order of a trail', () => {
  expect(wordsByAxis(verdict('better'))).toEqual([
    { axis: 'roll', words: [{ word: 'better', labels: ['Lag'] }] },
  ])
  expect(inOrder([change(3), change(1), change(2)]).map(({ id }) => id)).toEqual([
    'change-1',
    'change-2',
    'change-3',
  ])
})
