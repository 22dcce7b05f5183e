/** How many tests a runner's JSON report counts. */
export interface Counts {
  readonly passed: number
  readonly failed: number
  readonly skipped: number
}

interface VitestReport {
  readonly numPassedTests: number
  readonly numFailedTests: number
  readonly numPendingTests: number
  readonly numTodoTests: number
  readonly testResults: readonly { status: string; assertionResults: readonly { status: string }[] }[]
}

/** Of Vitest's report. A file that broke before its tests ran counts as one failure: no test stands for it. */
export function countVitest(report: VitestReport): Counts {
  const broken = report.testResults.filter(
    (file) => file.status === 'failed' && !file.assertionResults.some((test) => test.status === 'failed'),
  )
  return {
    passed: report.numPassedTests,
    failed: report.numFailedTests + broken.length,
    skipped: report.numPendingTests + report.numTodoTests,
  }
}

interface PlaywrightReport {
  readonly stats: { expected: number; unexpected: number; flaky: number; skipped: number }
  readonly errors: readonly unknown[]
}

/** Of Playwright's report. Errors outside of tests count as failures, and so does a test that passed only at times. */
export function countPlaywright({ stats, errors }: PlaywrightReport): Counts {
  return {
    passed: stats.expected,
    failed: stats.unexpected + stats.flaky + errors.length,
    skipped: stats.skipped,
  }
}

/** `N passed, N failed`, with `, N skipped` where some were. */
export function closingLine(counts: readonly Counts[]): string {
  const sum = total(counts)
  return `${sum.passed} passed, ${sum.failed} failed${sum.skipped > 0 ? `, ${sum.skipped} skipped` : ''}`
}

export function total(counts: readonly Counts[]): Counts {
  return {
    passed: counts.reduce((sum, count) => sum + count.passed, 0),
    failed: counts.reduce((sum, count) => sum + count.failed, 0),
    skipped: counts.reduce((sum, count) => sum + count.skipped, 0),
  }
}
