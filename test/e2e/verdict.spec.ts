/** The verdict on the demo's clear improvement: the word, its evidence, its pairs visited, its line elsewhere. */
import AxeBuilder from '@axe-core/playwright'
import { waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true })
test.setTimeout(150_000)

test.beforeEach(async ({ page }) => {
  await page.getByRole('button', { name: 'Take Baseline as A, before' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Take More feed-forward as B, after' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
})

test('says better where the truth is better, with its evidence', async ({ page }) => {
  const line = page.getByRole('region', { name: 'The two whole flights' })
  // The demo's third flight has 2.5 times the feed-forward on roll and pitch: less error and less lag on both.
  await expect(line).toContainText(/better on roll .*pitch/i, { timeout: 60_000 })
  await line.getByRole('button', { name: 'Why' }).click()
  const row = page.getByRole('row', { name: /^Tracking error, RMS, deg\/s lower is better roll/ })
  await expect(row).toContainText('better')
  await expect(row).toContainText(/\[−?\d+\.\d, −?\d+\.\d\]/)
  await expect(page.getByRole('heading', { name: 'How alike the flying was' })).toBeVisible()
  await page.getByRole('button', { name: 'Show all measures' }).click()
  await expect(page.getByRole('row', { name: /^Settling, ms/ }).first()).toBeVisible()
  const { violations } = await new AxeBuilder({ page }).analyze()
  expect(violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html.slice(0, 150)}`)).toEqual([])
})

test('a pair takes both flights there, B laid over A by it', async ({ page }) => {
  const offset = await page.getByTestId('offset').textContent()
  await page.getByRole('button', { name: 'Verdict' }).click()
  const pair = page.getByRole('listitem').getByRole('button').first()
  await pair.click({ timeout: 60_000 })
  await expect(page.getByRole('toolbar', { name: 'View' })).toBeVisible()
  await expect(page.getByTestId('offset')).not.toHaveText(offset!)
  await expect(page.locator('#measures-title')).toHaveText(/visible [1-4]\.\d\d s/)
  // The cursor stands at the stop, where the setpoints of both flights are back near zero (they were at 400 and more).
  for (const side of ['a', 'b']) {
    for (const axis of ['roll', 'pitch', 'yaw']) {
      const read = await page.getByTestId(`readout-${side}-setpoint.${axis}`).textContent()
      expect(Math.abs(Number(read!.replace('−', '-'))), `${side} ${axis}: ${read}`).toBeLessThan(100)
    }
  }
})

test('a manoeuvre is looked at, left out, taken back and put right; it is remembered', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Why' })).toBeVisible({ timeout: 60_000 })
  const strip = page.getByRole('group', { name: 'Manoeuvres' })
  const turns = strip.getByRole('button', { name: /^A: roll (left|right) at/ })
  const count = await turns.count()
  expect(count).toBeGreaterThan(2)
  // Zoomed in, so that the block is wide enough for a pointer.
  await turns.first().press('Enter')
  await expect(page.getByText(/Scale ±\d+ deg\/s over \d+ ms/)).toBeVisible()
  await page.getByRole('button', { name: 'Leave it out' }).click()
  await expect(turns).toHaveCount(count - 1, { timeout: 60_000 })
  await page.getByRole('button', { name: 'Undo the last change' }).click()
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
  await page.getByRole('button', { name: 'Verdict' }).click()
  await page.getByText('Propeller and motor facts').click({ timeout: 60_000 })
  await expect(page.getByText(/disc area × 1\.440/)).toContainText('thrust × 2.074')
  await expect(page.getByText(/disc area × 1\.440/)).toContainText('torque × 2.488')
  await expect(page.getByText(/At 24000 rpm/)).toContainText('1200 Hz')
})

test('a larger difference that matters makes the verdict more careful', async ({ page }) => {
  await page.getByRole('button', { name: 'Verdict' }).click()
  const row = page.getByRole('row', { name: /^Tracking error, RMS, deg\/s lower is better roll/ })
  await expect(row).toContainText('better', { timeout: 60_000 })
  await page.getByText('The smallest differences that matter').click()
  const input = page.getByLabel(/^Tracking error, RMS, deg\/s/)
  await input.fill('500')
  await input.press('Enter')
  await expect(row).toContainText('no clear difference', { timeout: 60_000 })
  await page.getByRole('button', { name: /^Usual:/ }).click()
  await expect(row).not.toContainText('no clear difference', { timeout: 60_000 })
})

test('the picture carries the verdict', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Why' })).toBeVisible({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Picture…' }).click()
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
