/** A logbook of ten thousand flights: listed, searched, sorted, grouped, walked through by keys, with a picture each. */
import type { Page } from '@playwright/test'
import { cpSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fillLogbook } from '../many-flights.ts'
import { accessibilityFaults } from './support/axe.ts'
import { expect, test as base } from './support/program.ts'

const FLIGHTS = 10_000

const test = base.extend<object, { filled: string }>({
  // Filled once, and copied for each test.
  filled: [
    async ({}, use) => {
      const filled = mkdtempSync(join(tmpdir(), 'twopack-filled-'))
      fillLogbook(filled, FLIGHTS)
      await use(filled)
      rmSync(filled, { recursive: true, force: true })
    },
    { scope: 'worker' },
  ],
  home: async ({ filled }, use) => {
    const home = mkdtempSync(join(tmpdir(), 'twopack-home-'))
    cpSync(filled, home, { recursive: true })
    await use(home)
    rmSync(home, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })
  },
})
test.slow()

const table = (page: Page) => page.getByRole('table', { name: 'Flights' })
const count = (page: Page) => page.locator('.count')
const choice = (page: Page, name: string) => page.getByRole('combobox', { name, exact: true })
const firstName = (page: Page) => page.locator('tbody th[scope=row] strong').first()

test('all are listed, few are in the document, and the last is reached', async ({ page }) => {
  await expect(count(page)).toHaveText('10,000 flights')
  await expect(firstName(page)).toHaveText(/^pack \d+$/)
  expect(await table(page).getByRole('row').count()).toBeLessThan(80)
  const rows = Number(await table(page).getAttribute('aria-rowcount'))
  expect(rows).toBeGreaterThan(FLIGHTS)
  await page.locator('.scroll').evaluate((area) => area.scrollTo(0, area.scrollHeight))
  await expect(table(page).getByRole('row').last()).toHaveAttribute('aria-rowindex', String(rows))
  await expect(table(page).getByRole('rowheader').last()).toHaveText(/pack \d+/)
})

test('search, filter, sort and group', async ({ page }) => {
  const search = page.getByRole('searchbox', { name: 'Search flights' })
  await search.fill('pack 7777')
  await expect(count(page)).toHaveText('1 of 10,000 flights')
  await expect(firstName(page)).toHaveText('pack 7777')
  await search.fill('nothing like it')
  await expect(page.getByText('No flight fits what is looked for.')).toBeVisible()
  await search.fill('')
  await expect(count(page)).toHaveText('10,000 flights')

  await choice(page, 'Craft').selectOption('Lantern (5000)')
  await expect(count(page)).toHaveText('5,000 of 10,000 flights')
  await choice(page, 'Craft').selectOption('all crafts')
  await choice(page, 'Health').selectOption('nothing to note')
  await expect(count(page)).toHaveText('2,500 of 10,000 flights')
  await choice(page, 'Health').selectOption('any health')

  await choice(page, 'Group by').selectOption('in one list')
  const length = table(page).getByRole('columnheader', { name: 'Length' })
  await length.getByRole('button').click()
  await expect(length).toHaveAttribute('aria-sort', 'descending')
  await expect(table(page).getByRole('row').nth(1)).toContainText('4:19')
  await length.getByRole('button').click()
  await expect(length).toHaveAttribute('aria-sort', 'ascending')
  await expect(table(page).getByRole('row').nth(1)).toContainText('1:00')
  await choice(page, 'Group by').selectOption('by day')
  await expect(table(page).getByRole('row').nth(1)).toContainText(/\w{3} \d+ \w{3} 20\d\d.*8 flights/)
})

test('a chosen flight keeps its name however far the list is scrolled', async ({ page }) => {
  await page.getByRole('searchbox').fill('pack 4321')
  await page.getByRole('button', { name: 'Take pack 4321 as B, after' }).click()
  await page.getByRole('searchbox').fill('')
  await expect(page.getByText('B after: pack 4321')).toBeVisible()
  // Odd numbers are one craft: the flight before is two numbers earlier.
  await page.getByRole('button', { name: 'Take "pack 4319" as A' }).click()
  await expect(page.getByText('A before: pack 4319')).toBeVisible()
  await page.reload()
  await expect(page.getByText('A before: pack 4319')).toBeVisible()
})

test('the Tab key walks down the list and never falls out of it', async ({ page }) => {
  await page
    .getByRole('button', { name: /^Take .* as A, before/ })
    .first()
    .focus()
  for (let presses = 0; presses < 150; presses++) await page.keyboard.press('Tab')
  const focused = await page.evaluate(() =>
    document.activeElement?.closest('tr')?.getAttribute('aria-rowindex'),
  )
  expect(Number(focused)).toBeGreaterThan(20)
})

test('typing and scrolling are answered at once', async ({ page }) => {
  await expect(count(page)).toHaveText('10,000 flights')
  // Common practice, no source: what takes less than a fifth of a second still feels like one's own doing.
  const took_ms = await page.evaluate(async () => {
    const area = document.querySelector('.scroll')!
    const start_ms = performance.now()
    area.scrollTo(0, area.scrollHeight / 2)
    const isThere = () =>
      !document.querySelector('tr.coming') &&
      Number(document.querySelector('tbody th[scope=row]')?.closest('tr')?.getAttribute('aria-rowindex')) >
        5000
    while (!isThere()) await new Promise(requestAnimationFrame)
    return performance.now() - start_ms
  })
  console.log(`half-way down the list in ${took_ms.toFixed(0)} ms`)
  expect(took_ms).toBeLessThan(1500)
})

for (const colorScheme of ['light', 'dark'] as const) {
  test.describe(colorScheme, () => {
    test.use({ colorScheme })
    test(`has no accessibility fault (${colorScheme})`, async ({ page }) => {
      await expect(firstName(page)).toBeVisible()
      expect(await accessibilityFaults(page)).toEqual([])
      await expect(page.getByRole('img', { name: /^Throttle \d+ to \d+ %/ }).first()).toBeVisible()
    })
  })
}
