import { expect, test } from 'vitest'
import { closingLine, countPlaywright, countVitest } from '../../counts.ts'

test('a unit test file that broke before its tests counts as a failure', () => {
  const report = {
    numPassedTests: 5,
    numFailedTests: 1,
    numPendingTests: 2,
    numTodoTests: 1,
    testResults: [
      { status: 'passed', assertionResults: [{ status: 'passed' }] },
      { status: 'failed', assertionResults: [{ status: 'failed' }, { status: 'passed' }] },
      { status: 'failed', assertionResults: [] },
    ],
  }
  expect(countVitest(report)).toEqual({ passed: 5, failed: 2, skipped: 3 })
})

test('errors outside of browser tests, and tests that pass only at times, count as failures', () => {
  const stats = { expected: 4, unexpected: 1, flaky: 1, skipped: 2 }
  expect(countPlaywright({ stats, errors: [{}] })).toEqual({ passed: 4, failed: 3, skipped: 2 })
})

test('the closing line adds up, and names skipped tests only where there are some', () => {
  expect(closingLine([])).toBe('0 passed, 0 failed')
  const counts = { passed: 2, failed: 1, skipped: 0 }
  expect(closingLine([counts, counts])).toBe('4 passed, 2 failed')
  expect(closingLine([counts, { passed: 0, failed: 0, skipped: 3 }])).toBe('2 passed, 1 failed, 3 skipped')
})
