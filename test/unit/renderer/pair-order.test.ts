import { describe, expect, test } from 'vitest'
import { pairLines, shownMeasures, USUAL_ORDER, type PairSort } from '../../../renderer/verdict/pair-order.ts'
import {
  balanceAsTable,
  measuresAsTable,
  pairsAsTable,
  tracesAsTable,
} from '../../../renderer/verdict/tables.ts'
import { commonReach, effectText, pairsText } from '../../../renderer/verdict/measure-words.ts'
import { csvText } from '../../../workers/text/csv-out.ts'
import type { MeasureVerdict, Pair } from '../../../workers/verdict/comparison.ts'
import type { Manoeuvre } from '../../../workers/manoeuvre/manoeuvre.ts'

const manoeuvre = (id: string, stop_s: number) => ({ id, start_s: stop_s - 1, stop_s }) as Manoeuvre
const pair = (
  a: string,
  b: string,
  name: string,
  distance: number,
  size: number,
  lag: number | null,
): Pair => ({
  a,
  b,
  name,
  axis: 'roll',
  distance,
  reason: '',
  size,
  differences: lag === null ? [] : [{ key: 'lag.roll', a: 20, b: 20 + lag, difference: lag }],
})
const found = {
  pairs: [
    pair('a1', 'b3', 'roll right', 0.3, 4, -2),
    pair('a2', 'b1', 'flip back', 0.1, 2, null),
    pair('a3', 'b2', 'roll left', 0.9, 3, 5),
  ],
  a: { manoeuvres: [manoeuvre('a1', 3), manoeuvre('a2', 1), manoeuvre('a3', 2)], answers: {} },
  b: { manoeuvres: [manoeuvre('b1', 7), manoeuvre('b2', 8), manoeuvre('b3', 9)], answers: {} },
}

describe('the list of pairs', () => {
  const order = (by: PairSort, descending = false) =>
    pairLines(found, 'lag', { by, descending }).map((line) => line.pair.a)

  test('largest difference first, and by every column either way', () => {
    expect(pairLines(found, 'lag', USUAL_ORDER).map((line) => line.pair.size)).toEqual([4, 3, 2])
    expect(order('name')).toEqual(['a2', 'a3', 'a1'])
    expect(order('a')).toEqual(['a2', 'a3', 'a1'])
    expect(order('b', true)).toEqual(['a1', 'a3', 'a2'])
    expect(order('alike')).toEqual(['a2', 'a1', 'a3'])
  })

  test('by the measure shown; what does not show it stands last either way', () => {
    expect(order('measure')).toEqual(['a1', 'a3', 'a2'])
    expect(order('measure', true)).toEqual(['a3', 'a1', 'a2'])
    expect(shownMeasures(found.pairs)).toEqual(['lag'])
    expect(pairLines(found, 'settling', USUAL_ORDER).every(({ shown }) => shown === null)).toBe(true)
  })

  test('copies every measure of every pair', () => {
    const lines = pairLines(found, 'lag', USUAL_ORDER)
    expect(csvText(pairsAsTable(lines)).split('\r\n')[1]).toBe('roll right,3,9,0.3,Lag,roll,ms,20,18,-2')
    expect(pairsAsTable(lines).rows.length).toBe(2)
  })
})

const measure = (changes: Partial<MeasureVerdict>): MeasureVerdict => ({
  id: 'lag',
  key: 'lag.roll',
  label: 'Lag',
  axis: 'roll',
  unit: 'ms',
  digits: 1,
  good: 'lower',
  headline: true,
  a: 20,
  b: 14,
  effect: -6,
  interval: { low: -8, high: -4, coverage: 0.95, covers: 'sampling error only' },
  p: 0.001,
  adjustedP: 0.004,
  adjustment: 'Holm',
  delta: 2,
  floor: null,
  floorRange: null,
  word: 'better',
  reason: 'Surely lower.',
  pairs: 14,
  pairsNeeded: null,
  secondOpinion: null,
  bootstrap: null,
  from: 'pairs',
  cautions: [],
  ...changes,
})

describe('a measure in words and as a table', () => {
  test('the effect with its interval and unit', () => {
    expect(effectText(measure({}))).toBe('−6.0 [−8.0, −4.0] ms')
    expect(effectText(measure({ effect: null, interval: null }))).toBe('–')
    expect(pairsText(measure({ pairsNeeded: 30 }))).toBe('14 of about 30')
    expect(pairsText(measure({ from: 'flights', pairs: 0 }))).toBe('whole flights')
  })

  test('all plots share a scale of 3 to 6 times what matters', () => {
    expect(commonReach([])).toBe(3)
    expect(commonReach([measure({}), measure({ effect: null, interval: null })])).toBe(4)
    expect(commonReach([measure({ delta: 0.01 })])).toBe(6)
  })

  test('every table is as wide as its head', () => {
    const half = { a: 1, b: 2, standardisedDifference: 0.5, countA: 3, countB: 4 }
    const row = { axis: null, input: 'snap', unit: '', before: half, after: null, unlike: false }
    const trace = { t_s: Float64Array.of(-0.1, 0.1), rate_dps: Float64Array.of(5, NaN) }
    const traces = {
      axis: 'roll' as const,
      from_s: -0.1,
      to_s: 0.1,
      a: { setpoint: trace, gyro: null },
      b: { setpoint: null, gyro: { ...trace, t_s: Float64Array.of(-0.05, 0.1) } },
      reach_dps: 20,
    }
    for (const table of [measuresAsTable([measure({})]), balanceAsTable([row]), tracesAsTable(traces)])
      expect(() => csvText(table)).not.toThrow()
    expect(tracesAsTable(traces).rows).toEqual([
      [-0.1, 5, null],
      [-0.05, null, 5],
      [0.1, null, null],
    ])
  })
})
