/**
 * `npm test [-- --unit | --e2e] [names of test files]`: runs the unit tests, builds the window, runs the tests in a
 * browser, and closes with one line computed from the runners' own reports.
 */
import '../electron/node-version.ts'
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { chromiumInstaller, hasCommand, install, isRoot } from '../electron/browser/install.ts'
import { ensureBuilt, WINDOW } from '../electron/build.ts'
import { hasDisplay } from '../electron/launch/display.ts'
import { testBrowser, windowedBrowser } from './browser.ts'
import { closingLine, countPlaywright, countVitest, total, type Counts } from './counts.ts'

const PROJECT = resolve(import.meta.dirname, '..')
const RESULTS = join(PROJECT, 'test/.results')

const args = process.argv.slice(2)
const passedOn = args.filter((argument) => argument !== '--unit' && argument !== '--e2e')
// Names of files that only one of the runners has are no fault of the other's.
const mayBeEmpty = passedOn.length > 0
const unit = args.includes('--unit') || !args.includes('--e2e')
const e2e = args.includes('--e2e') || !args.includes('--unit')

mkdirSync(RESULTS, { recursive: true })
// The program is started a hundred times from its sources: what Node makes of them is made once.
process.env['NODE_COMPILE_CACHE'] ??= join(RESULTS, 'compiled')
const counts: Counts[] = []
if (unit) counts.push(unitTests())
if (e2e) counts.push((await prepared()) ? browserTests() : { passed: 0, failed: 1, skipped: 0 })
const { passed, failed } = total(counts)
if (passed + failed === 0) console.log('No test ran.')
console.log(closingLine(counts))
process.exitCode = failed > 0 || passed === 0 ? 1 : 0

/** Gets browser and window ready; false, after printing why, where that fails. */
async function prepared(): Promise<boolean> {
  try {
    prepareBrowser()
    await ensureBuilt([WINDOW], console.log)
    return true
  } catch (error) {
    console.error(error)
    console.log('The tests in a browser could not be prepared.')
    return false
  }
}

/** Sees to it that there is a Chromium, and a display for the windows that some tests open. */
function prepareBrowser(): void {
  const windowsCanOpen = hasDisplay({ env: process.env, platform: process.platform }) || hasCommand('Xvfb')
  const installer = chromiumInstaller(isRoot(), hasCommand('apt-get'))
  if (!windowedBrowser() || (!windowsCanOpen && installer.command === 'sh')) install(installer)
  const found = testBrowser()
  if (!found) throw new Error('Chromium was installed, but still none is found.')
  console.log(`The browser of these tests: ${found}`)
}

function unitTests(): Counts {
  const report = join(RESULTS, 'vitest.json')
  const runner = ['node_modules/vitest/vitest.mjs', 'run', '--reporter=default', '--reporter=json']
  if (mayBeEmpty) runner.push('--passWithNoTests')
  return countsOf('The unit tests', [...runner, `--outputFile.json=${report}`], report, countVitest)
}

function browserTests(): Counts {
  const report = join(RESULTS, 'playwright.json')
  process.env['PLAYWRIGHT_JSON_OUTPUT_NAME'] = report
  const runner = ['node_modules/@playwright/test/cli.js', 'test', '--reporter=line,json']
  if (mayBeEmpty) runner.push('--pass-with-no-tests')
  return countsOf('The tests in a browser', runner, report, countPlaywright)
}

/** Runs a runner and counts by its report. One that fails without saying what failed counts as a failure itself. */
function countsOf<Report>(
  name: string,
  runner: readonly string[],
  report: string,
  count: (report: Report) => Counts,
): Counts {
  rmSync(report, { force: true }) // one that an earlier run left must not be counted
  const { status } = spawnSync(process.execPath, [...runner, ...passedOn], {
    cwd: PROJECT,
    stdio: ['ignore', 'inherit', 'inherit'],
  })
  if (!existsSync(report)) {
    console.log(`${name} did not get as far as a report (the runner ended with ${status}).`)
    return { passed: 0, failed: 1, skipped: 0 }
  }
  const counted = count(JSON.parse(readFileSync(report, 'utf8')) as Report)
  if (status === 0 || counted.failed > 0) return counted
  console.log(`${name} ended with ${status}, though no test failed.`)
  return { ...counted, failed: 1 }
}
