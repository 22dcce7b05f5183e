/** Files that can't be read: one plain sentence each, nothing half-indexed, and the program goes on. */
import type { Page } from '@playwright/test'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from './support/program.ts'

const HEADER = 'time_s,gyro_roll_dps,gyro_pitch_dps,gyro_yaw_dps'

/** A small good log; `change` spoils its rows. */
function log(change: (row: string, index: number) => string = (row) => row): string {
  const rows = Array.from({ length: 400 }, (_, index) =>
    [index / 100, 40 * Math.sin(index / 9), 30 * Math.cos(index / 7), 5]
      .map((value) => value.toFixed(4))
      .join(','),
  )
  return `${[HEADER, ...rows.map(change)].join('\n')}\n`
}

const give = (page: Page, name: string, content: string | Buffer) =>
  page.getByLabel('Log files').setInputFiles({ name, mimeType: 'text/csv', buffer: Buffer.from(content) })

const card = (page: Page, name: string) => page.getByRole('article', { name: `File ${name}` })

const CASES: { name: string; content: string | Buffer; says: RegExp[] }[] = [
  { name: 'empty.csv', content: '', says: [/empty\.csv/, /empty/] },
  {
    name: 'words.csv',
    content: log((row, index) => (index === 300 ? row.replace(/^([^,]*),[^,]*/, '$1,oops') : row)),
    says: [/words\.csv/, /line 302/, /gyro_roll_dps/, /oops/],
  },
  {
    name: 'picture.csv',
    content: readFileSync(join(import.meta.dirname, '../../resources/icon.png')),
    says: [/picture\.csv/, /picture/],
  },
  { name: 'header.csv', content: `${HEADER}\n`, says: [/header\.csv/] },
]

for (const { name, content, says } of CASES) {
  test(`${name}: a clear sentence, and nothing half-indexed`, async ({ page }) => {
    await give(page, name, content)
    const add = card(page, name).getByRole('button', { name: 'Add to logbook' })
    const alert = card(page, name).getByRole('alert')
    await expect(add.or(alert)).toBeVisible()
    // A fault far down the file only shows when the whole of it is read.
    if (await add.isVisible()) await add.click()
    for (const part of says) await expect(alert).toHaveText(part)
    await expect(page.getByText('The logbook is empty.')).toBeVisible()

    await card(page, name).getByRole('button', { name: 'Close' }).click()
    await give(page, 'good.csv', log())
    await card(page, 'good.csv').getByRole('button', { name: 'Add to logbook' }).click()
    await expect(page.getByRole('rowheader', { name: 'good', exact: true })).toBeVisible()
  })
}

test('a file without a time column: said at once, and the pilot can point to one', async ({ page }) => {
  // A count that begins anew: no clock by itself, but the pilot may know it for one.
  const rows = Array.from(
    { length: 300 },
    (_, index) => `${(40 * Math.sin(index / 9)).toFixed(3)},${(index % 100) / 100}`,
  )
  await give(page, 'timeless.csv', `gyro roll (deg/s),thing\n${rows.join('\n')}\n`)
  const file = card(page, 'timeless.csv')
  await expect(file).toContainText('No time column was found')
  const add = file.getByRole('button', { name: 'Add to logbook' })
  await expect(add).toBeDisabled()
  await file.getByLabel('Column for time').selectOption({ label: 'thing' })
  await expect(file).not.toContainText('loading…')
  await add.click()
  await expect(page.getByRole('rowheader', { name: /^timeless/ }).first()).toBeVisible()
})

test('the same file twice is recognised by its content', async ({ page }) => {
  await give(page, 'good.csv', log())
  await card(page, 'good.csv').getByRole('button', { name: 'Add to logbook' }).click()
  await expect(page.getByRole('rowheader', { name: 'good', exact: true })).toBeVisible()
  await give(page, 'another name.csv', log())
  await expect(card(page, 'another name.csv')).toContainText('already in the logbook, as "good"')
})

test('hostile names are shown as text', async ({ page }) => {
  const name = '<img src=x onerror=alert(1)> & "quotes".csv'
  await give(page, name, log().replace('gyro_yaw_dps', '"<b>gyro_yaw</b> (deg/s)"'))
  const file = page.getByRole('article').filter({ hasText: 'onerror' })
  await expect(file.getByRole('heading')).toHaveText(name)
  await file.getByRole('button', { name: 'Add to logbook' }).click()
  await expect(page.getByRole('rowheader').filter({ hasText: '<img src=x' })).toBeVisible()
})

test('the same name twice is told, and both columns are there to choose', async ({ page }) => {
  await give(page, 'twice.csv', log().replace('gyro_pitch_dps', 'gyro_roll_dps'))
  const file = card(page, 'twice.csv')
  await expect(file).toContainText('the same name to several columns')
  await file.getByRole('button', { name: 'Add to logbook' }).click()
  await expect(page.getByRole('rowheader', { name: 'twice', exact: true })).toBeVisible()
})

test('a clock that stands still is refused, and the logbook opens again', async ({ page }) => {
  await give(
    page,
    'still.csv',
    log((row) => row.replace(/^[^,]*/, '5.0000')),
  )
  const file = card(page, 'still.csv')
  await expect(file.getByRole('button', { name: 'Add to logbook' })).toBeDisabled()
  await file.getByLabel('Column for time').selectOption({ index: 1 })
  await expect(file).not.toContainText('loading…')
  await file.getByRole('button', { name: 'Add to logbook' }).click()
  await expect(file.getByRole('alert')).toHaveText(/stands still: it can’t be the time column/)
  await page.reload()
  await expect(page.getByText('The logbook is empty.')).toBeVisible()
})

test('fifty thousand columns are looked at without holding up the window', async ({ page }) => {
  test.slow()
  const names = Array.from({ length: 50_000 }, (_, index) => (index === 0 ? 'time_s' : `c${index}`))
  const rows = Array.from({ length: 6 }, (_, row) => names.map((_, column) => row + column).join(','))
  await give(page, 'wide.csv', `${[names.join(','), ...rows].join('\n')}\n`)
  const file = card(page, 'wide.csv')
  await expect(file.getByRole('button', { name: 'Add to logbook' })).toBeVisible({ timeout: 60_000 })
  const columns = file.getByText('What the columns were taken to mean')
  if (!(await file.getByRole('table').isVisible())) await columns.click()
  await expect(file).toContainText('Of 50,000 columns, the first 400')
  await expect(file).not.toContainText('loading…')
})
