/** The demo flights: made on the first start, compared by keyboard alone, restored when the window opens again. */
import type { Page } from '@playwright/test'
import { accessibilityFaults } from './support/axe.ts'
import { waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true })
// Simulating and indexing the demo takes a while on a busy machine.
test.slow()

const ROWS = 'tbody tr:has(th[scope=row])'

async function demoIsThere(page: Page): Promise<void> {
  await expect(page.locator(ROWS)).toHaveCount(5, { timeout: 120_000 })
  await expect(page.getByText(/Simulating the demo flights/)).toBeHidden()
}

/** Presses Tab until the focus is on what `name` says, as a pilot without a mouse would. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let presses = 0; presses < 120; presses++) {
    await page.keyboard.press('Tab')
    const label = await page.evaluate(() => {
      const focused = document.activeElement
      return focused?.getAttribute('aria-label') ?? focused?.textContent?.trim() ?? ''
    })
    if (name.test(label)) return
  }
  throw new Error(`the Tab key never reaches ${name}`)
}

test('the whole job by keyboard alone, and it is all there again after a reload', async ({ page }) => {
  await demoIsThere(page)
  const names = await page.locator(`${ROWS} th strong`).allTextContents()
  await tabTo(page, new RegExp(`^Take ${names[0]} as A`))
  await page.keyboard.press('Enter')
  await tabTo(page, new RegExp(`^Take ${names[2]} as B`))
  await page.keyboard.press('Enter')
  await tabTo(page, /^See side by side/)
  await page.keyboard.press('Enter')
  await waitForNumbers(page)
  const title = page.locator('#measures-title')
  const whole = await title.textContent()
  await page.keyboard.press('+')
  await page.keyboard.press('+')
  await expect(title).not.toHaveText(whole!)
  await page.keyboard.press('ArrowRight')
  await page.keyboard.press('ArrowRight')
  await expect(page.getByTestId('cursor-time')).toHaveText(/at [\d.]+ s/)
  await expect(page.getByTestId('readout-a-gyro.roll')).toHaveText(/\d/)
  await expect(page.getByTestId('readout-b-gyro.roll')).toHaveText(/\d/)
  await page.keyboard.press('o')
  await expect(page.getByTestId('pane')).toHaveCount(14)
  await page.keyboard.press('p')
  await expect(page.getByRole('button', { name: 'Save PNG' })).toBeEnabled({ timeout: 30_000 })
  const download = page.waitForEvent('download')
  await tabTo(page, /^Save PNG/)
  await page.keyboard.press('Enter')
  // No names unless the pilot chooses so.
  expect((await download).suggestedFilename()).toBe('comparison.png')
  await page.keyboard.press('Alt+2')

  await page.reload()
  await waitForNumbers(page)
  await expect(page.locator('.flight.a .name')).toHaveText(names[0]!)
  await expect(page.locator('.flight.b .name')).toHaveText(names[2]!)
})

test('a demo flight that was removed does not come back', async ({ page }) => {
  await demoIsThere(page)
  await page
    .locator(ROWS)
    .first()
    .getByRole('button', { name: /^Remove/ })
    .click()
  await page.getByRole('button', { name: 'Take it out' }).click()
  await expect(page.locator(ROWS)).toHaveCount(4)
  await page.reload()
  await expect(page.locator(ROWS)).toHaveCount(4)
})

test('the flight before is offered as A', async ({ page }) => {
  await demoIsThere(page)
  await page
    .locator(ROWS)
    .nth(2)
    .getByRole('button', { name: /as B, after$/ })
    .click()
  await page.getByRole('button', { name: /^Take ".*" as A$/ }).click()
  await expect(page.getByRole('button', { name: 'See side by side' })).toBeEnabled()
})

for (const colorScheme of ['light', 'dark'] as const) {
  test.describe(colorScheme, () => {
    test.use({ colorScheme, shares: 'the demo' })
    test(`logbook and details have no accessibility fault (${colorScheme})`, async ({ page }) => {
      await demoIsThere(page)
      await page
        .locator(ROWS)
        .nth(0)
        .getByRole('button', { name: /as A, before$/ })
        .click()
      await page
        .locator(ROWS)
        .nth(1)
        .getByRole('button', { name: /as B, after$/ })
        .click()
      expect(await accessibilityFaults(page)).toEqual([])
      await page
        .locator(ROWS)
        .nth(1)
        .getByRole('button', { name: /^Details/ })
        .click()
      await expect(
        page.getByRole('dialog').getByRole('table', { name: 'What each column means' }),
      ).toBeVisible()
      expect(await accessibilityFaults(page)).toEqual([])
    })
  })
}
