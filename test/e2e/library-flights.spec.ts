/** A log with several flights: one line each, adjusted by hand, compared alone. */
import { twoFlightsLog } from '../unit/library/two-flights.ts'
import { accessibilityFaults } from './support/axe.ts'
import { waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.beforeEach(async ({ page }) => {
  await page
    .getByLabel('Log files')
    .setInputFiles({ name: 'pack.csv', mimeType: 'text/csv', buffer: Buffer.from(twoFlightsLog()) })
  await page.getByRole('button', { name: 'Add to logbook' }).click()
  await expect(page.getByRole('status')).toHaveText(
    'Added to the logbook: 2 flights that were found in pack.csv.',
  )
})

test('each flight has its own line, length and picture, and is compared alone', async ({ page }) => {
  const first = page.getByRole('row', { name: /pack, flight 1 of 2/ })
  const second = page.getByRole('row', { name: /pack, flight 2 of 2/ })
  await expect(first).toContainText('0:20')
  await expect(second).toContainText('0:30')
  await expect(first.getByRole('img', { name: /^Throttle 4\d to 5\d %.*Turning/ })).toBeVisible()
  await page.getByRole('button', { name: 'Take pack, flight 1 of 2 as A, before' }).click()
  await page.getByRole('button', { name: 'Take pack, flight 2 of 2 as B, after' }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
  await expect(page.locator('.flight.a')).toContainText('0:20')
  await expect(page.locator('.flight.b')).toContainText('0:30')
})

test('its part of the log is changed by hand, the hop is added, and the whole is taken', async ({ page }) => {
  await page.getByRole('button', { name: 'Details of pack, flight 1 of 2' }).click()
  const dialog = page.getByRole('dialog')
  await expect(dialog.getByRole('row', { name: /told by the throttle/ })).toHaveCount(3)
  expect(await accessibilityFaults(page)).toEqual([])
  await dialog.getByRole('button', { name: 'Add as a flight, from 1:50' }).click()
  await expect(dialog.getByRole('status')).toHaveText(/^Added to the logbook: pack, 1\d\d/)

  await dialog.getByLabel('End, seconds').fill('15')
  await dialog.getByRole('button', { name: 'Make the flight this part' }).click()
  await expect(dialog.getByRole('status')).toHaveText('The flight is this part of the log now.')
  await expect(dialog.locator('.facts').first()).toContainText('501 rows in 0:05')
  await dialog.getByLabel('Begin, seconds').fill('500')
  await expect(dialog.getByRole('button', { name: 'Make the flight this part' })).toBeDisabled()
  await dialog.getByRole('button', { name: 'Take the whole log' }).click()
  await expect(dialog.locator('.facts').first()).toContainText('13000 rows in 2:10')
  await page.keyboard.press('Escape')
  await expect(page.getByRole('row', { name: /pack, flight 1 of 2/ })).toContainText('2:10')
  await expect(page.getByRole('rowheader', { name: /pack, 1\d\d/ })).toBeVisible()
})

test('a settings sheet is kept and found by what stands in it', async ({ page }) => {
  await page.getByRole('button', { name: 'Details of pack, flight 1 of 2' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByText('Settings in force: none kept').click()
  await dialog.getByLabel('Settings in force').fill('pitch gain = 47\nnotch = 210')
  await dialog.getByLabel('Settings in force').blur()
  await dialog.getByRole('button', { name: 'Keep changes' }).click()
  await expect(dialog).toBeHidden()
  await page.getByRole('searchbox').fill('notch 210')
  await expect(page.getByText('1 of 2 flights')).toBeVisible()
  await expect(page.getByRole('rowheader', { name: 'pack, flight 1 of 2' })).toBeVisible()
})

test('a meaning that is changed changes what is said of the log', async ({ page }) => {
  await page.getByRole('button', { name: 'Details of pack, flight 2 of 2' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Column for throttle').selectOption('not in this file')
  await dialog.getByRole('button', { name: 'Keep changes' }).click()
  await expect(dialog).toBeHidden()
  await page.getByRole('button', { name: 'Details of pack, flight 1 of 2' }).click()
  await expect(page.getByRole('dialog')).toContainText('No throttle was found.')
})
