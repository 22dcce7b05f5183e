/** Parts of a log are judged as if each were a log of its own. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { readLog } from '../../../electron/intake/intake.ts'
import { judgeLog } from '../../../electron/library/judge-log.ts'
import { surveyParts, type SurveyOrder } from '../../../electron/library/survey.ts'
import type { ReadLog } from '../../../workers/log/log.ts'
import { FLOWN_S, HOP_S, LENGTH_S, RATE_HZ, twoFlightsLog } from './two-flights.ts'

let folder: string
let log: ReadLog
let order: Omit<SurveyOrder, 'parts'>
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'twopack-survey-'))
  writeFileSync(join(folder, 'log.csv'), twoFlightsLog())
  const columnFile = join(folder, 'columns')
  log = await readLog(join(folder, 'log.csv'), { columnFile })
  order = { columnFile, layout: log.layout, assignments: log.assignments }
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('a surveyed part', () => {
  test('that is the whole log says what the reading said', async () => {
    const [whole] = await surveyParts({ ...order, parts: [{ from: 0, to: log.rows }] })
    expect(whole!.clock).toEqual(log.clock)
    expect(log.notices).toEqual(expect.arrayContaining([...whole!.health]))
    expect(whole!.span).toEqual({ t0_s: 0, t1_s: LENGTH_S - 1 / RATE_HZ })
  })

  test('is found by its times, ends included, and judged alone', async () => {
    const [air, ground] = await surveyParts({ ...order, parts: [FLOWN_S[0], { t0_s: 31, t1_s: 59 }] })
    expect(air!.rows).toEqual({ from: 1000, to: 3001 })
    expect(air!.clock).toMatchObject({ rows: 2001, duration_s: expect.closeTo(20, 6) })
    expect(air!.activity.power_percent?.every((power) => power! > 35)).toBe(true)
    expect(air!.health.some(({ text }) => /never moves/.test(text))).toBe(false)
    expect(ground!.activity.power_percent?.every((power) => power === 0)).toBe(true)
    expect(ground!.health.some(({ text }) => /never moves/.test(text))).toBe(true)
  })

  test('comes back the same by its rows and by the times it told', async () => {
    const [first] = await surveyParts({ ...order, parts: [{ from: 1234, to: 4321 }] })
    const [again] = await surveyParts({ ...order, parts: [first!.span] })
    expect(again).toEqual(first)
  })

  test('of fewer than two rows is refused with a sentence', async () => {
    await expect(surveyParts({ ...order, parts: [{ t0_s: 5, t1_s: 5 }] })).rejects.toThrow(/no two rows/)
    await expect(surveyParts({ ...order, parts: [{ t0_s: 500, t1_s: 600 }] })).rejects.toThrow(/no two rows/)
    await expect(surveyParts({ ...order, parts: [{ t0_s: 9, t1_s: 2 }] })).rejects.toThrow(/no two rows/)
  })

  test('by a clock that stands still is refused, whoever chose it', async () => {
    const path = join(folder, 'still.csv')
    writeFileSync(
      path,
      `time (s),a\n${Array.from({ length: 80 }, (_, row) => `${row / 100},5`).join('\n')}\n`,
    )
    const columnFile = join(folder, 'still')
    const moving = await readLog(path, { columnFile })
    const time = moving.assignments.find(({ role }) => role === 'time')!
    const still = { ...time, name: 'a', column: 1 }
    const parts = [{ from: 0, to: moving.rows }]
    const survey = surveyParts({ columnFile, layout: moving.layout, assignments: [still], parts })
    await expect(survey).rejects.toThrow('“a” stands still: it can’t be the time column.')
    const again = join(folder, 'again')
    const read = await readLog(path, { columnFile: again, assignments: [still] })
    await expect(judgeLog(again, read)).rejects.toMatchObject({ code: 'no-time' })
  })
})

describe('a log with several flights', () => {
  test('gives one part each, and offers the hop', async () => {
    const { parts, spans } = await judgeLog(order.columnFile, log)
    expect(parts.map(({ nameSuffix }) => nameSuffix)).toEqual([', flight 1 of 2', ', flight 2 of 2'])
    for (const [index, flown] of FLOWN_S.entries()) {
      expect(Math.abs(parts[index]!.span!.t0_s - flown.t0_s)).toBeLessThan(0.2)
      expect(Math.abs(parts[index]!.span!.t1_s - flown.t1_s)).toBeLessThan(0.2)
    }
    expect(spans.map(({ kind }) => kind)).toEqual(['flight', 'flight', 'short'])
    expect(Math.abs(spans[2]!.t0_s - HOP_S.t0_s)).toBeLessThan(0.2)
  })
})

test('a log of one flight is judged as a look through its columns would judge it', async () => {
  const [head, ...rows] = twoFlightsLog().trim().split('\n')
  const first = rows.slice(0, Math.round(45 * RATE_HZ))
  writeFileSync(join(folder, 'one.csv'), `${head}\n${first.join('\n')}\n`)
  const columnFile = join(folder, 'one')
  const { glance, ...one } = await readLog(join(folder, 'one.csv'), { columnFile })
  expect(one.flights?.filter(({ kind }) => kind === 'flight')).toHaveLength(1)
  const looked = await judgeLog(columnFile, one)
  expect(looked.activity?.turn_dps).not.toBeNull()
  expect(await judgeLog(columnFile, { ...one, glance: glance! })).toEqual(looked)
})
