import { describe, expect, test } from 'vitest'
import { arrangementOf, restlessness } from '../../../workers/picture/arrangement.ts'
import { cutOffSentence, MOST_NOTICES, shownNotices } from '../../../workers/picture/bottom.ts'
import { describeComparison } from '../../../workers/picture/describe.ts'
import { settingsSentence } from '../../../workers/picture/header.ts'
import { type ComparisonPicture, type PictureNotice, transferables } from '../../../workers/picture/model.ts'
import { commonLevelRange, commonRateRange } from '../../../workers/picture/ranges.ts'
import { buildPyramid } from '../../../workers/reduce/pyramid.ts'
import { asLine, reduce } from '../../../workers/reduce/reduce.ts'
import { differenceText, layOutTable } from '../../../workers/picture/table.ts'
import { smallModel, smallTrace } from './small-models.ts'

describe('the arrangement', () => {
  const open = (noise: number): ComparisonPicture => {
    const model: { arrangement?: unknown } & ComparisonPicture = smallModel()
    delete model.arrangement
    return {
      ...model,
      rows: model.rows.map((row) => ({
        ...row,
        traces: row.traces.map((trace) => ({
          ...trace,
          y: trace.y.map((y, index) => y + (index % 2 === 0 ? noise : -noise)),
        })),
      })),
    }
  }

  test('lays calm curves over each other and gives busy ones a column each', () => {
    expect(arrangementOf(open(0))).toBe('overlaid')
    expect(arrangementOf(open(60))).toBe('beside')
  })

  test('is judged alike however finely a curve was reduced', () => {
    const samples = Float32Array.from(
      { length: 60_000 },
      (_, index) => 40 * Math.sin(index / 900) + ((index * 7919) % 41),
    )
    const t_s = Float64Array.from(samples, (_, index) => index / 6000)
    const row = { unit: 'deg/s', yMin: -100, yMax: 100, traces: [] }
    const of = (columns: number): number => {
      const { x, y } = asLine(reduce(t_s, samples, buildPyramid(samples), 0, 10, columns))
      return restlessness(row, { t0_s: 0, t1_s: 10 }, { flight: 'a', signal: 'gyro', t_s: x, y })
    }
    // A band of 40 deg/s on a scale of 200 over 110 pixels is 22 pixels high.
    for (const columns of [500, 1200, 2400]) expect(Math.abs(of(columns) - 22)).toBeLessThan(2.5)
  })

  test("is the model's own where it says so", () => {
    expect(arrangementOf({ ...open(60), arrangement: 'overlaid' })).toBe('overlaid')
  })
})

describe('common ranges', () => {
  test('of rates are even around zero, hold both flights and never blow up a quiet axis', () => {
    const traces = [smallTrace('a', 'gyro'), smallTrace('b', 'gyro')]
    expect(commonRateRange(traces)).toEqual({ yMin: -100, yMax: 100 })
    expect(commonRateRange([...traces].reverse())).toEqual(commonRateRange(traces))
    const quiet = traces.map((trace) => ({ ...trace, y: trace.y.map((y) => y / 1000) }))
    expect(commonRateRange(quiet)).toEqual({ yMin: -20, yMax: 20 })
    const gaps = traces.map((trace) => ({ ...trace, y: trace.y.map(() => Number.NaN) }))
    expect(commonRateRange(gaps)).toEqual({ yMin: -20, yMax: 20 })
  })

  test('of levels are whole fives, the same whichever flight comes first, and shift with the levels', () => {
    const lanes = smallModel().spectrograms?.lanes ?? []
    const range = commonLevelRange(lanes)
    if (range === null) throw new Error('no range')
    expect(range.max_db % 5 === 0 && range.min_db % 5 === 0).toBe(true)
    expect(commonLevelRange([...lanes].reverse())).toEqual(range)
    const louder = lanes.map((lane) => ({ ...lane, level_db: lane.level_db.map((level) => level + 15) }))
    expect(commonLevelRange(louder)).toEqual({ min_db: range.min_db + 15, max_db: range.max_db + 15 })
    expect(commonLevelRange([])).toBeNull()
    // The same quantiles by sorting.
    const sorted = Float64Array.from(
      lanes.flatMap(({ level_db }) => [...level_db].filter(Number.isFinite)),
    ).sort()
    const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))]!
    // Plus 0: a negative zero is no other level.
    const max_db = Math.ceil(at(0.999) / 5) * 5 + 0
    expect(range).toEqual({ max_db, min_db: Math.min(max_db - 20, Math.floor(at(0.1) / 5) * 5) })
    const silent = lanes.map((lane) => ({ ...lane, level_db: lane.level_db.map(() => Number.NaN) }))
    expect(commonLevelRange(silent)).toBeNull()
    const flat = lanes.map((lane) => ({ ...lane, level_db: lane.level_db.map(() => -12) }))
    expect(commonLevelRange(flat)).toEqual({ min_db: -30, max_db: -10 })
  })
})

describe('the table', () => {
  const measure = smallModel().measures[0]
  if (measure === undefined) throw new Error('no measure')

  test('writes differences with their sign and share, and a share only where it means something', () => {
    expect(differenceText(measure, { a: 20, b: 15, difference: -5 })).toBe('−5.0 (−25 %)')
    expect(differenceText(measure, { a: 0, b: 3, difference: 3 })).toBe('+3.0')
    expect(differenceText(measure, { a: 2, b: -1, difference: -3 })).toBe('−3.0')
    expect(differenceText(measure, { a: 2, b: 2.01, difference: 0.01 })).toBe('0.0')
    expect(differenceText(measure, { a: null, b: 2, difference: null })).toBe('–')
  })

  test('gives each reason once', () => {
    const reason = 'No setpoint in B.'
    const cell = { a: 1, b: null, difference: null, reason }
    const table = layOutTable(
      smallModel({ measures: [{ ...measure, cells: { roll: cell, pitch: cell, yaw: cell } }] }),
    )
    expect(table.reasons).toEqual([reason])
  })

  test('breaks into blocks where measures would not fit beside each other', () => {
    const many = Array.from({ length: 6 }, () => measure)
    expect(
      layOutTable(smallModel({ measures: many, width_px: 1200 })).blocks.map(
        (block) => block.measures.length,
      ),
    ).toEqual([3, 3])
    expect(
      layOutTable(smallModel({ measures: many.slice(0, 5), width_px: 1600 })).blocks.map(
        (block) => block.measures.length,
      ),
    ).toEqual([5])
    expect(layOutTable(smallModel({ measures: [] })).height).toBe(0)
  })
})

test('notices: cautions first, and what does not fit is counted', () => {
  const notices: PictureNotice[] = Array.from({ length: 9 }, (_, index) => ({
    level: index === 8 ? 'caution' : 'info',
    text: `notice ${index}`,
  }))
  const shown = shownNotices(notices)
  expect(shown).toHaveLength(MOST_NOTICES)
  expect(shown[0]?.text).toBe('notice 8')
  expect(shown.at(-1)?.text).toBe('2 more notices are not printed here.')
})

test('a scale that cuts values off says so, but only for values in the shown span', () => {
  const { rows, ...rest } = smallModel({ throttle: { unit: '%', yMin: -100, yMax: 100, traces: [] } })
  const model = { ...rest, rows }
  const tight = { ...model, rows: model.rows.map((row, index) => (index === 1 ? { ...row, yMax: 50 } : row)) }
  expect(cutOffSentence(model)).toBe('')
  expect(cutOffSentence(tight)).toBe('Some values lie beyond the scale: pitch.')
  // Pitch is a sine of t + 1 and below zero from 2.14 to 5.28 s.
  const elsewhere = { ...tight, span: { t0_s: 2.5, t1_s: 4.5 } }
  expect(cutOffSentence(elsewhere)).toBe('')
})

test('changed settings are said from A to B', () => {
  const settings = [
    { name: 'D roll', a: '30', b: '42' },
    { name: 'D yaw', a: null, b: '1' },
  ]
  expect(settingsSentence(settings)).toBe('Changed from A to B: D roll 30 → 42; D yaw (none) → 1.')
  expect(settingsSentence([])).toBe('')
})

test('the description says in words what the picture shows', () => {
  const text = describeComparison(smallModel({ headlines: ['Pitch\nis better.'] }))
  const lines = text.split('\n')
  expect(lines[0]).toBe('What more damping did')
  expect(lines[1]).toBe('Pitch is better.')
  expect(lines).toContain('A (before): first.csv, 1000 Hz log · 10.0 s long · 14 May, 16:02 · Red')
  expect(lines).toContain('roll, Tracking error, RMS: A 20.0 deg/s, B 16.0 deg/s, B − A −4.1 (−20 %)')
  expect(lines).toContain('yaw, Tracking error, RMS: A 12.0 deg/s, B –, B − A –, No setpoint in B.')
  expect(lines.at(-1)).toBe('Twopack. A log shows what was recorded, not that a craft is airworthy.')
})

test('all buffers of a model can be transferred, each once', () => {
  const model = smallModel()
  const buffers = transferables(model)
  expect(new Set(buffers).size).toBe(buffers.length)
  const first = model.rows[0]?.traces[0]
  expect(buffers).toContain(first?.y.buffer)
  const copy = structuredClone(model, { transfer: buffers })
  expect(first?.y.length).toBe(0)
  expect(copy.rows[0]?.traces[0]?.y.length).toBe(200)
  expect(copy.spectrograms?.lanes[0]?.level_db.length).toBe(800)
})
