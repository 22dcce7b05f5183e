/** The whole library taken out of one program and brought into another, its measures, the program's settings. */
import type { Page } from '@playwright/test'
import { readFileSync, writeFileSync } from 'node:fs'
import { accessibilityFaults } from './support/axe.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true })
test.setTimeout(120_000)

async function open(page: Page): Promise<void> {
  await page.keyboard.press('Control+k')
  await page.keyboard.type('export and import')
  await page.keyboard.press('Enter')
  await expect(page.getByRole('dialog', { name: 'Library and settings' })).toBeVisible()
}

async function save(page: Page, button: string): Promise<{ name: string; path: string }> {
  const download = page.waitForEvent('download', { timeout: 60_000 })
  await page.getByRole('button', { name: button }).click()
  const file = await download
  return { name: file.suggestedFilename(), path: await file.path() }
}

const status = (page: Page) => page.getByRole('dialog').getByRole('status')

test('exported, flights taken out, brought in again, taken back and made again', async ({ page }, info) => {
  await expect(page.getByRole('button', { name: 'Take Baseline as A, before' })).toBeVisible({
    timeout: 60_000,
  })
  await open(page)
  expect(await accessibilityFaults(page)).toEqual([])
  const { name, path } = await save(page, 'Export the library')
  expect(name).toMatch(/^twopack-library-\d{4}-\d\d-\d\d\.zip$/)
  const archive = info.outputPath('library.zip')
  writeFileSync(archive, readFileSync(path))

  await page.getByLabel('Archive of a library').setInputFiles(archive)
  await expect(status(page)).toContainText(/Brought in 0 flights.*stood here already/, { timeout: 60_000 })

  // Damaged, it is refused in a sentence.
  const damaged = info.outputPath('damaged.zip')
  writeFileSync(damaged, readFileSync(archive).subarray(0, 5000))
  await page.getByLabel('Archive of a library').setInputFiles(damaged)
  await expect(page.getByRole('alert')).toContainText('no whole archive of a Twopack library')
})

test('all measures as a table', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Take Baseline as A, before' })).toBeVisible({
    timeout: 60_000,
  })
  await open(page)
  const { name, path } = await save(page, 'Save the table')
  expect(name).toBe('twopack-measures.csv')
  const [head = '', ...rows] = readFileSync(path, 'utf8').trim().split('\r\n')
  expect(head).toContain('roll: Lag (ms)')
  expect(rows.length).toBeGreaterThan(3)
  for (const row of rows) expect(row.split(',').length).toBeGreaterThanOrEqual(18)
  expect(rows.join('\n')).toMatch(/Baseline/)
})

test('the settings of the program, saved, changed, taken in', async ({ page }, info) => {
  await open(page)
  const { name, path } = await save(page, 'Save the settings')
  expect(name).toBe('twopack-settings.json')
  const settings = JSON.parse(readFileSync(path, 'utf8'))
  expect(settings).toMatchObject({ program: 'Twopack', format: 1, theme: 'system' })
  const changed = info.outputPath('settings.json')
  writeFileSync(changed, JSON.stringify({ ...settings, theme: 'dark' }))
  await page.getByLabel('Settings of the program').setInputFiles(changed)
  await expect(page.locator('html')).toHaveAttribute('data-theme', 'dark')
  writeFileSync(changed, JSON.stringify({ ...settings, theme: '<script>' }))
  await page.getByLabel('Settings of the program').setInputFiles(changed)
  await expect(page.getByRole('alert')).toContainText('do not fit at "theme"')
  await page.keyboard.press('Escape')
  await page.keyboard.press('Control+z')
  await expect(page.locator('html')).toHaveAttribute('data-theme', 'light')
})
