/** What responses owe on whole simulated flights of known truth: the kept study, and a seed of it run here. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { BUDGET_METHOD } from '../../../workers/response/budget.ts'
import { STEP_METHOD } from '../../../workers/response/step-response.ts'
import { NOISES, runResponseStudy, type ResponseStudy } from '../../studies/response-study.ts'

const kept = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../fixtures/signal/response-study.json'), 'utf8'),
) as ResponseStudy

function mustHold({ noises }: ResponseStudy): void {
  for (const one of noises) {
    const label = `noise ${one.noise}`
    // Inside the band in 90 of 100, or else the caution stands beside it.
    expect((one.inside + one.cautioned + one.refused) / one.responses, label).toBeGreaterThanOrEqual(0.9)
    // Cautions and refusals must not be the excuse.
    expect(one.inside / one.responses, label).toBeGreaterThanOrEqual(0.8)
    expect(one.lags, label).toBe(one.responses)
    expect(one.lagsWithin, label).toBe(one.lags)
    expect(one.worstBudget, label).toBeLessThan(1e-9)
  }
}

describe('the kept study (made by the command that stands in it)', () => {
  test('is of these methods, 40 seeds at three noise levels', () => {
    expect(kept).toMatchObject({ stepVersion: STEP_METHOD.version, budgetVersion: BUDGET_METHOD.version })
    expect(kept.command).toMatch(/test\/studies\/response-study\.ts/)
    expect(kept.seeds).toBeGreaterThanOrEqual(40)
    expect(kept.noises.map(({ noise }) => noise)).toEqual([...NOISES])
  })

  test('steps lie in their bands, lags within a tenth of a sample, budgets add up', () => mustHold(kept))
})

test('a seed of it, run here, holds as well', () => mustHold(runResponseStudy(1, 1)), 120_000)
