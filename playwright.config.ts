import { defineConfig } from '@playwright/test'
import { availableParallelism } from 'node:os'
import { testBrowser } from './test/browser.ts'

const executablePath = testBrowser()
if (!executablePath) throw new Error('There is no Chromium on this machine; "npm test" installs one.')

export default defineConfig({
  testDir: 'test/e2e',
  outputDir: 'test/.results/playwright',
  snapshotPathTemplate: '{testDir}/goldens/{arg}{ext}',
  globalSetup: './test/e2e/support/window-snapshot.ts',
  // A window computes in two workers: more windows than pairs of cores take as long, and each waits for the others.
  workers: Math.max(1, Math.floor(availableParallelism() / 2)),
  fullyParallel: true,
  timeout: 60_000,
  expect: { timeout: 15_000 },
  forbidOnly: Boolean(process.env['CI']),
  reporter: 'line',
  use: {
    launchOptions: { executablePath },
    viewport: { width: 1280, height: 720 },
    locale: 'en-US',
    timezoneId: 'UTC',
    permissions: ['clipboard-read', 'clipboard-write'],
    screenshot: 'only-on-failure',
    // Tracing every test slows all of them; `npx playwright test --trace on NAME` makes one where it is needed.
    trace: 'off',
  },
})
