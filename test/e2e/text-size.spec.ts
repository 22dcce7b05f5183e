/** The window at 1280 x 720 with the text 125 % and 200 % as large: all that is needed can be reached and read. */
import type { Locator, Page } from '@playwright/test'
import { chooseAndCompare, waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true, shares: 'the demo' })
test.slow()

/** How far the window itself can be scrolled sideways, px: its parts may, it must not. */
const sideways = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)

async function isWithin(page: Page, control: Locator): Promise<void> {
  await control.scrollIntoViewIfNeeded()
  const box = (await control.boundingBox())!
  const { width, height } = page.viewportSize()!
  expect(box.x).toBeGreaterThanOrEqual(0)
  expect(box.y).toBeGreaterThanOrEqual(0)
  expect(box.x + box.width).toBeLessThanOrEqual(width)
  expect(box.y + box.height).toBeLessThanOrEqual(height)
}

for (const percent of [125, 200]) {
  test(`text at ${percent} %`, async ({ page }) => {
    const takeA = page.getByRole('button', { name: /as A, before$/ })
    await expect(takeA).toHaveCount(5, { timeout: 120_000 })
    const small = (await takeA.first().boundingBox())!.height
    await page.evaluate((size) => (document.documentElement.style.fontSize = `${size}%`), percent)
    // Text and what holds it grow together.
    await expect
      .poll(async () => (await takeA.first().boundingBox())!.height / small)
      .toBeGreaterThan(percent / 100 - 0.1)
    const names = await page.locator('tbody th[scope=row] strong').allTextContents()
    expect(await sideways(page)).toBe(0)
    for (const name of ['Logbook', 'Side by side', 'Find…', 'Menu', 'Add logs…', 'See side by side'])
      await isWithin(page, page.getByRole('button', { name }).first())
    // The list still knows where its lines are.
    for (let press = 0; press < 5; press++) await page.keyboard.press('ArrowDown')
    await isWithin(page, page.locator('tr:focus th strong'))
    await chooseAndCompare(page, names[0]!, names[1]!)
    await waitForNumbers(page)
    expect(await sideways(page)).toBe(0)
    for (const name of ['Beside', 'Whole', 'Share…', 'Swap A and B'])
      await isWithin(page, page.getByRole('button', { name }).first())
    const pane = page.getByTestId('pane').first()
    // The bars leave less room than a row is high at twice the size: it is scrolled, and most of it is seen.
    await pane.scrollIntoViewIfNeeded()
    await expect(pane).toBeInViewport({ ratio: 0.6 })
    expect((await pane.boundingBox())!.width).toBeGreaterThan(500)
    await isWithin(page, page.getByTestId('gyroRms_dps-roll-a'))
    await page.keyboard.press('Control+k')
    await isWithin(page, page.getByRole('combobox', { name: 'Find a command or a flight' }))
    await page.keyboard.press('Escape')
    await page.getByRole('button', { name: /^Menu/ }).click()
    await isWithin(page, page.getByRole('menu').getByRole('menuitemcheckbox').first())
  })
}
