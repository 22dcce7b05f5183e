/** The verdict on the demo's clear improvement: the word, its evidence, its pairs visited, its line elsewhere. */
import type { Page } from '@playwright/test'
import { accessibilityFaults } from './support/axe.ts'
import { waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true, shares: 'the demo' })
test.setTimeout(150_000)

test.beforeEach(async ({ page }) => {
  await page.getByRole('button', { name: 'Take Baseline as A, before' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Take More feed-forward as B, after' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
})

const openVerdict = async (page: Page) => {
  await page.getByRole('button', { name: 'Verdict', exact: true }).click()
  await expect(page.getByRole('heading', { name: 'Keep in mind' })).toBeVisible({ timeout: 90_000 })
}
const noViolations = async (page: Page) => expect(await accessibilityFaults(page)).toEqual([])
const measure = (page: Page, name: RegExp) => page.getByRole('row', { name })

test('says better where the truth is better: the word first, then the effect, the pairs, and why', async ({
  page,
}) => {
  const line = page.getByRole('region', { name: 'The two whole flights' })
  // The demo's third flight has 2.5 times the feed-forward on roll and pitch: less error and less lag on both.
  await expect(line).toContainText(/better on roll .*pitch/i, { timeout: 60_000 })
  await line.getByRole('button', { name: 'Why' }).click()
  await expect(page.getByRole('heading', { level: 2 }).first()).toHaveText('Better')
  const row = measure(page, /^roll Tracking error, RMS/)
  await expect(row).toHaveText(
    /Tracking error, RMS\s*better\s*−\d+\.\d \[−\d+\.\d, −\d+\.\d\] deg\/s\s*\d+\s*\d+\.\d\s*\d+\.\d\s*Surely lower/,
  )
  await expect(page.getByRole('heading', { name: 'How alike the flying was' })).toBeVisible()
  await expect(measure(page, /^roll, battery voltage, V/)).toBeVisible()
  await page.getByRole('button', { name: 'Show all measures' }).click()
  await expect(measure(page, /^roll Settling/)).toBeVisible()
  for (const theme of ['light', 'dark']) {
    await page.evaluate((name) => (document.documentElement.dataset['theme'] = name), theme)
    await noViolations(page)
  }
  // Nothing but the screen's own part scrolls.
  expect(await page.evaluate(() => document.documentElement.scrollHeight - innerHeight)).toBeLessThanOrEqual(
    0,
  )
})

test('a sentence leads to its measure, its pairs and back, by keyboard alone', async ({ page }) => {
  await openVerdict(page)
  const sentence = page.getByRole('listitem').filter({ hasText: 'follows the stick sooner on roll' })
  const way = sentence.getByRole('button', { name: 'roll lag' })
  await way.focus()
  await page.keyboard.press('Enter')
  const row = measure(page, /^roll Lag/)
  await expect(row).toBeFocused()
  await expect(row).toHaveClass(/rested/)
  await expect(row).toBeInViewport()
  await page.keyboard.press('Escape')
  await expect(way).toBeFocused()
  await expect(row).not.toHaveClass(/rested/)

  const toPairs = sentence.getByRole('button', { name: /\d+ pairs/ })
  const count = Number.parseInt((await toPairs.textContent())!.replace(/\D+/, ''), 10)
  await toPairs.press('Enter')
  await expect(page.getByRole('heading', { name: 'Pairs of like manoeuvres' })).toBeFocused()
  await expect(page.getByText(`Only the ${count} pairs that the sentence rests on`)).toBeVisible()
  await expect(page.getByRole('table').filter({ hasText: 'Manoeuvre' })).toHaveAttribute(
    'aria-rowcount',
    String(count + 1),
  )
  await expect(page.getByLabel('Measure shown')).toHaveValue('lag')
  await page.getByRole('button', { name: 'Back to the sentence' }).click()
  await expect(toPairs).toBeFocused()
  // A measure leads to its pairs too.
  await page.getByRole('button', { name: /pairs of pitch, Tracking error, RMS: show them/ }).click()
  await expect(page.getByRole('heading', { name: 'Pairs of like manoeuvres' })).toBeFocused()
  await expect(page.getByLabel('Measure shown')).toHaveValue('trackingError')
})

test('pairs are drawn, sorted, gone through by key, here and side by side', async ({ page }) => {
  await openVerdict(page)
  const list = page.getByRole('region', { name: 'List of pairs' })
  const table = list.getByRole('table')
  const all = Number(await table.getAttribute('aria-rowcount')) - 1
  expect(all).toBeGreaterThan(30)
  // Only what is in sight is in the document.
  expect(await list.getByRole('img').count()).toBeLessThan(20)
  const sizes = async () =>
    (await list.getByRole('row').locator('td:nth-child(6)').allTextContents()).map(Number.parseFloat)
  const first = await sizes()
  expect(first).toEqual([...first].sort((x, y) => y - x))
  await table.getByRole('button', { name: 'Manoeuvre' }).click()
  await expect(table.getByRole('columnheader', { name: 'Manoeuvre' })).toHaveAttribute(
    'aria-sort',
    'ascending',
  )
  const names = await list.getByRole('rowheader').allTextContents()
  expect(names).toEqual([...names].sort((x, y) => x.localeCompare(y)))
  await table.getByRole('button', { name: 'Difference' }).click()

  const offset = page.getByText(/^B moved by/)
  const before = await offset.textContent()
  await page.keyboard.press('n')
  const current = table.locator('tr[aria-current="true"]')
  await expect(current).toHaveAttribute('aria-rowindex', '2')
  await expect(offset).not.toHaveText(before!)
  await page.keyboard.press('n')
  await expect(current).toHaveAttribute('aria-rowindex', '3')
  for (let k = 0; k < 12; k++) await page.keyboard.press('n')
  await expect(current).toBeInViewport()
  for (let k = 0; k < 12; k++) await page.keyboard.press('Shift+N')
  await expect(current).toHaveAttribute('aria-rowindex', '3')
  await expect(page.getByRole('img', { name: /large: setpoint and gyro of both flights/ })).toBeVisible()
  const drawn = await page.getByRole('region', {
    name: (await current.getByRole('rowheader').textContent())!,
  })
  await drawn.getByText('Numbers').click()
  await drawn.getByRole('button', { name: 'Copy as CSV' }).click()
  await expect(drawn.getByRole('status')).toHaveText(/Copied \d+ rows/)
  expect(await page.evaluate(() => navigator.clipboard.readText())).toMatch(
    /^"time from the stop, s","A setpoint, deg\/s","A gyro, deg\/s","B setpoint, deg\/s","B gyro, deg\/s"\r\n-/,
  )
  await noViolations(page)

  await drawn.getByRole('button', { name: 'See side by side' }).click()
  await expect(page.getByRole('toolbar', { name: 'View' })).toBeVisible()
  await expect(page.locator('#measures-title')).toHaveText(/visible [1-4]\.\d\d s/)
  const there = await page.getByTestId('offset').textContent()
  await page.keyboard.press('n')
  await expect(page.getByTestId('offset')).not.toHaveText(there!)
  await page.keyboard.press('Shift+N')
  await expect(page.getByTestId('offset')).toHaveText(there!)
})

test('a pair takes both flights there, B laid over A by it', async ({ page }) => {
  const offset = await page.getByTestId('offset').textContent()
  await openVerdict(page)
  const list = page.getByRole('region', { name: 'List of pairs' })
  await list.getByRole('rowheader').first().getByRole('button').click()
  await page.getByRole('button', { name: 'See side by side' }).last().click()
  await expect(page.getByRole('toolbar', { name: 'View' })).toBeVisible()
  await expect(page.getByTestId('offset')).not.toHaveText(offset!)
  // The cursor stands at the stop, where the setpoints of both flights are back near zero (they were at 400 and more).
  for (const side of ['a', 'b']) {
    for (const axis of ['roll', 'pitch', 'yaw']) {
      const read = await page.getByTestId(`readout-${side}-setpoint.${axis}`).textContent()
      expect(Math.abs(Number(read!.replace('−', '-'))), `${side} ${axis}: ${read}`).toBeLessThan(100)
    }
  }
})

test('a pair is left out of the comparison, taken back by undo, and that is remembered', async ({ page }) => {
  await openVerdict(page)
  const list = page.getByRole('region', { name: 'List of pairs' })
  const rows = () => list.getByRole('table').getAttribute('aria-rowcount').then(Number)
  const all = await rows()
  await list
    .getByRole('button', { name: /^Leave out/ })
    .first()
    .click()
  await expect.poll(rows, { timeout: 60_000 }).toBeLessThan(all)
  await expect(page.getByText(/^A: .* is left out\./)).toBeVisible()
  await page.keyboard.press('Control+z')
  await expect.poll(rows, { timeout: 60_000 }).toBe(all)
  await page.keyboard.press('Control+Shift+z')
  await expect.poll(rows, { timeout: 60_000 }).toBeLessThan(all)
  await page.reload()
  await openVerdict(page)
  expect(await rows()).toBeLessThan(all)
})

test('a repeat flight is chosen, sets the floor in words and numbers, and is remembered', async ({
  page,
}) => {
  await openVerdict(page)
  await page.getByRole('button', { name: 'Choose a repeat flight…' }).click()
  const dialog = page.getByRole('dialog')
  await expect(dialog.getByRole('listitem')).toHaveCount(3)
  await noViolations(page)
  await dialog.getByLabel('Search').fill('higher')
  await expect(dialog.getByRole('listitem')).toHaveCount(1)
  // Flown with a change that does nothing, harder and in more wind: what no change differs by.
  await dialog.getByRole('button', { name: 'Higher I limit repeats A' }).click()
  await expect(page.getByText(/is\s+the\s+floor\s+of\s+\d+\s+measures/)).toBeVisible({ timeout: 60_000 })
  await expect(page.getByText(/one repeat of A \(\d+ pairs/)).toBeVisible()
  // The floor is an estimate as well: with its own interval, and from how few pairs.
  await expect(page.getByRole('columnheader', { name: 'Floor [interval]' })).toBeVisible()
  await expect(page.getByRole('row', { name: /roll Lag/ }).first()).toContainText(
    /\d\.\d \[−?\d+\.\d, \d+\.\d\]/,
  )
  await expect(page.getByText(/Fewest behind a floor: \d+ pairs/)).toBeVisible()
  const row = measure(page, /^roll Lag/)
  await expect(row).toContainText('better')
  await expect(page.getByRole('columnheader', { name: 'Floor' })).toBeVisible()
  await page.reload()
  await openVerdict(page)
  await expect(page.getByText(/^Repeat flight of A:/)).toBeVisible()
  await page.getByRole('button', { name: 'Let go of it' }).click()
  await expect(page.getByText('No repeat flight.')).toBeVisible()
  await page.keyboard.press('Control+z')
  await expect(page.getByText(/is\s+the\s+floor\s+of\s+\d+\s+measures/)).toBeVisible({ timeout: 60_000 })
})

test('what is declared before looking is shown with its reason, changed, and undone', async ({ page }) => {
  await openVerdict(page)
  await page.getByText(/^Declared before looking: 4 headline measures/).click()
  await expect(page.getByText(/adjustment\s+over\s+the\s+\d+\s+headline\s+tests/)).toBeVisible()
  await expect(page.getByRole('row', { name: /Bounce-back lower/ })).toContainText('set on simulated flights')
  await noViolations(page)
  const tracking = measure(page, /^roll Tracking error, RMS/)
  await page.getByLabel('Tracking error, RMS is a headline measure').uncheck()
  await expect(
    page.getByText(/^Declared before looking: 3 headline measures[\s\S]*\(changed\)/),
  ).toBeVisible()
  await expect(tracking).toHaveCount(0, { timeout: 60_000 })
  await page.keyboard.press('Control+z')
  await expect(tracking).toHaveCount(1, { timeout: 60_000 })
  const input = page.getByLabel(/^Tracking error, RMS: smallest difference that matters/)
  await input.fill('500')
  await input.press('Enter')
  await expect(tracking).toContainText('no clear difference', { timeout: 60_000 })
  await page.getByRole('button', { name: /^Usual:/ }).click()
  await expect(tracking).toContainText('better', { timeout: 60_000 })
  await page.getByLabel('Looking at several measures').selectOption('none')
  await expect(page.getByText(/Not adjusted for looking at several measures/)).toBeVisible({
    timeout: 60_000,
  })
})

test('tables are copied as CSV: numbers stay numbers', async ({ page }) => {
  await openVerdict(page)
  const copied = () => page.evaluate(() => navigator.clipboard.readText())
  await page.getByRole('button', { name: /^Copy as CSV.*all measures/ }).click()
  const [head, ...lines] = (await copied()).trimEnd().split('\r\n')
  expect(head).toMatch(/^measure,axis,unit,headline,verdict,B - A,interval low/)
  const tracking = lines.find((line) => line.includes(',roll,deg/s,yes,better,'))!
  expect(Number(/better,([^,]+),/.exec(tracking)![1])).toBeLessThan(-10)
  await page.getByRole('button', { name: /^Copy as CSV.*the pairs/ }).click()
  expect(await copied()).toMatch(/^manoeuvre,A at \(s\),B at \(s\)/)
  await page.getByRole('button', { name: /^Copy as CSV.*how alike/ }).click()
  expect(await copied()).toMatch(/roll,battery voltage,V,1\d\.\d/)
})

test('a manoeuvre is looked at, left out, taken back and put right; it is remembered', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Why' })).toBeVisible({ timeout: 60_000 })
  const strip = page.getByRole('group', { name: 'Manoeuvres' })
  const turns = strip.getByRole('button', { name: /^A: roll (left|right) at/ })
  await expect(turns.nth(2)).toBeAttached()
  const count = await turns.count()
  // Zoomed in, so that the block is wide enough for a pointer.
  await turns.first().press('Enter')
  await expect(page.getByText(/Scale ±\d+ deg\/s over \d+ ms/)).toBeVisible()
  await page.getByRole('button', { name: 'Leave it out' }).click()
  await expect(turns).toHaveCount(count - 1, { timeout: 60_000 })
  await page.keyboard.press('Control+z')
  await expect(turns).toHaveCount(count, { timeout: 60_000 })
  await turns.first().press('Enter')
  await page.getByLabel('It is a').selectOption('swing')
  await expect(turns).toHaveCount(count - 1, { timeout: 60_000 })
  await page.reload()
  await expect(page.getByRole('button', { name: 'Why' })).toBeVisible({ timeout: 60_000 })
  await expect(turns).toHaveCount(count - 1)
})

test('what the stick explains of the visible part, and what it does not', async ({ page }) => {
  const panel = page.getByRole('region', { name: 'Me or the quad?' })
  await expect(panel).toContainText('Zoom in', { timeout: 60_000 })
  await panel.getByText(/movements not explained by the stick/).click()
  await panel.getByRole('listitem').first().getByRole('button').click()
  const rows = panel.getByRole('row')
  await expect(rows).toHaveCount(6)
  await expect(panel).toContainText('not explained by the stick')
})

test('propeller facts by similarity: 5 to 6 inch (figures of method.md section 9)', async ({ page }) => {
  await openVerdict(page)
  await page.getByText('Propeller and motor facts').click()
  await expect(page.getByText(/disc area × 1\.440/)).toContainText('thrust × 2.074')
  await expect(page.getByText(/disc area × 1\.440/)).toContainText('torque × 2.488')
  await expect(page.getByText(/At 24000 rpm/)).toContainText('1200 Hz')
})

test('the picture carries the verdict', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Why' })).toBeVisible({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Share…' }).click()
  const save = page.getByRole('button', { name: 'Save PNG' })
  await expect(save).toBeEnabled({ timeout: 30_000 })
  const download = page.waitForEvent('download')
  await save.click()
  const { readPngText } = await import('../../workers/picture/png-text.ts')
  const { readFileSync } = await import('node:fs')
  const text = JSON.stringify(readPngText(readFileSync(await (await download).path())))
  expect(text).toMatch(/better on roll/i)
  expect(text).toMatch(/pairs of like manoeuvres/)
})
