/** Settings sheets: compared between A and B, warned of, explained by the pilot's glossary; dropped on a flight. */
import type { Page } from '@playwright/test'
import { accessibilityFaults } from './support/axe.ts'
import { waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true })
test.setTimeout(120_000)

const HOSTILE = '<img src=x onerror=alert(1)>'

async function openPair(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Take Baseline as A, before' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Take Higher I limit as B, after' }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
}

/** Drops a text file on a flight's line, as the pilot would. */
async function dropOn(page: Page, flight: string, name: string, text: string): Promise<void> {
  const data = await page.evaluateHandle(
    ([name, text]) => {
      const transfer = new DataTransfer()
      transfer.items.add(new File([text], name))
      return transfer
    },
    [name, text] as const,
  )
  const line = page.getByRole('row', { name: new RegExp(`Take ${flight} as A`) })
  await line.dispatchEvent('dragover', { dataTransfer: data })
  await line.dispatchEvent('drop', { dataTransfer: data })
}

test('what changed is said, with ratio, warnings and meaning; the glossary is remembered and undone', async ({
  page,
}) => {
  await openPair(page)
  const button = page.getByRole('button', { name: /^2 settings changed/ })
  await expect(button).toBeVisible()
  await page.keyboard.press('s')
  const dialog = page.getByRole('dialog', { name: 'Settings of A and B' })
  const row = dialog.getByRole('row', { name: /^roll I limit/ })
  await expect(row).toContainText('0.25')
  await expect(row).toContainText('+0.15')
  await expect(row).toContainText('× 1.6')
  await expect(dialog).toContainText('from 01-baseline.settings.txt')
  await expect(dialog.getByRole('list', { name: 'Warnings about the settings' })).toContainText(
    'was changed on roll and pitch, not on yaw. Was that meant?',
  )
  await row.getByRole('button', { name: /what roll I limit means/ }).click()
  await dialog.getByLabel('Meaning').fill(HOSTILE)
  await dialog.getByLabel('Name or pattern').first().fill('* I limit')
  await dialog.getByLabel('From').fill('0.1')
  await dialog.getByLabel('To').fill('0.3')
  await dialog.getByRole('button', { name: 'Add', exact: true }).click()
  await expect(dialog.getByRole('table', { name: 'Glossary entries' })).toContainText(HOSTILE)
  await expect(dialog.getByRole('list', { name: 'Warnings about the settings' })).toContainText(
    'roll I limit = 0.4 is above 0.1 to 0.3.',
  )
  await expect(dialog.locator('img')).toHaveCount(0)
  expect(await accessibilityFaults(page)).toEqual([])
  await page.keyboard.press('Escape')
  await expect(page.getByRole('button', { name: /to check$/ })).toBeVisible()
  await page.reload()
  await waitForNumbers(page)
  await expect(page.getByRole('button', { name: /to check$/ })).toBeVisible()
})

test('a glossary is taken in and handed on as text', async ({ page }) => {
  await openPair(page)
  await page.keyboard.press('s')
  await page.getByRole('button', { name: 'Glossary…' }).click()
  await page.getByLabel('Glossary file').setInputFiles({
    name: 'mine.txt',
    mimeType: 'text/plain',
    buffer: Buffer.from(
      '# mine\nmotor top % | How far motors may go | % | 60 | 100\nbroken | x | y | a | b\n',
    ),
  })
  await expect(page.getByText('Taken in: 1 entries. Line 3: the range must be numbers.')).toBeVisible()
  const download = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Save as text' }).click()
  const { readFileSync } = await import('node:fs')
  const { readGlossary } = await import('../../workers/settings/glossary.ts')
  expect(readGlossary(readFileSync(await (await download).path(), 'utf8')).glossary).toEqual([
    { pattern: 'motor top %', meaning: 'How far motors may go', unit: '%', low: 60, high: 100 },
  ])
  await page.keyboard.press('Escape')
  await page.keyboard.press('Control+z')
  await page.keyboard.press('s')
  await page.getByRole('button', { name: 'Glossary…' }).click()
  await expect(page.getByRole('table', { name: 'Glossary entries' })).toHaveCount(0)
})

test('an idle speed in the wrong unit, dropped on a flight, is warned of; undone it is gone', async ({
  page,
}) => {
  await expect(page.getByRole('button', { name: 'Take Baseline as A, before' })).toBeVisible({
    timeout: 60_000,
  })
  await dropOn(page, 'Baseline', 'before.txt', 'idle speed = 20\nroll P = 45\n')
  await expect(page.getByText('Kept with Baseline: 2 settings from before.txt.')).toBeVisible()
  await dropOn(
    page,
    'Higher I limit',
    'after.json',
    `{"idle speed": 2000, "roll": {"p": 45}, "${HOSTILE}": 1}`,
  )
  await expect(page.getByText('Kept with Higher I limit: 3 settings from after.json.')).toBeVisible()
  await openPair(page)
  await page.keyboard.press('s')
  await expect(page.getByRole('list', { name: 'Warnings about the settings' })).toContainText(
    'idle speed jumps 100 times up, from 20 to 2000. Was it entered in another unit?',
  )
  await expect(page.getByRole('dialog')).toContainText(HOSTILE)
  await page.keyboard.press('Escape')
  await page.keyboard.press('Alt+1')
  // The choices of A and B are undone first.
  for (const what of ['flight B', 'flight A', 'settings', 'settings']) {
    await expect(page.getByRole('button', { name: new RegExp(`^Undo.*${what}`) })).toBeVisible()
    await page.keyboard.press('Control+z')
  }
  await openPair(page)
  await expect(page.getByRole('button', { name: /^2 settings changed/ })).toBeVisible()
})

test('a sheet that comes with its log is offered and kept with it', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Take Baseline as A, before' })).toBeVisible({
    timeout: 60_000,
  })
  const rows = Array.from({ length: 400 }, (_, row) => `${row / 100},${(40 * Math.sin(row / 9)).toFixed(3)}`)
  const file = (name: string, text: string) => ({ name, mimeType: 'text/plain', buffer: Buffer.from(text) })
  await page
    .getByLabel('Log files')
    .setInputFiles([
      file('mine.csv', `time (s),gyro roll (deg/s)\n${rows.join('\n')}\n`),
      file('mine.ini', '[roll]\np = 4\ni = 3\n'),
    ])
  const card = page.getByRole('article', { name: 'File mine.csv' })
  await expect(card.getByLabel(/Keep the settings sheet mine\.ini/)).toBeChecked()
  await expect(card).toContainText("Came with mine.csv: it has the log's own name and holds settings.")
  await card.getByRole('button', { name: 'Add to logbook' }).click()
  await expect(page.getByText('Added to the logbook: mine.')).toBeVisible()
  await page.getByRole('button', { name: 'Details of mine' }).click()
  await expect(page.getByText('Settings in force: mine.ini')).toBeVisible()
})
