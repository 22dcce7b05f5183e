/** What was assumed of the columns is shown, can be put right before and after indexing, and is remembered. */
import type { Locator, Page } from '@playwright/test'
import { chooseAndCompare } from './support/job.ts'
import { expect, test } from './support/program.ts'

/** A log whose gyro is called by a word that says nothing; `phase` makes another flight with the same header. */
function log(phase: number): string {
  const rows = Array.from({ length: 500 }, (_, index) =>
    [index / 100, 2 * Math.sin(index / 9 + phase), 3 * Math.cos(index / 11 + phase)]
      .map((value) => value.toFixed(5))
      .join(';'),
  )
  return `time (s);gyro roll (rad/s);mystery\n${rows.join('\n')}\n`
}

const give = (page: Page, name: string, text: string) =>
  page.getByLabel('Log files').setInputFiles({ name, mimeType: 'text/csv', buffer: Buffer.from(text) })

/** Opens the table, unless a guess that needs a look has opened it already. */
async function showColumns(card: Locator): Promise<void> {
  await expect(card.getByRole('button', { name: 'Add to logbook' })).toBeVisible()
  if (!(await card.getByRole('table').isVisible())) {
    await card.getByText('What the columns were taken to mean').click()
  }
}

test('put right before adding, remembered for the next file, put right again afterwards', async ({
  page,
}) => {
  await give(page, 'first.csv', log(0))
  const first = page.getByRole('article', { name: 'File first.csv' })
  await showColumns(first)
  await expect(first.getByLabel('Unit of gyro roll')).toHaveValue('radps')
  await expect(first.getByLabel('Column for gyro pitch')).toHaveValue('')
  await first.getByLabel('Column for gyro pitch').selectOption('mystery')
  await first.getByLabel('Unit of gyro pitch').selectOption('rad/s')
  await first.getByLabel('Sign of gyro pitch').selectOption('reversed')
  await first.getByRole('button', { name: 'Add to logbook' }).click()
  await expect(page.getByRole('row', { name: /Take first/ })).toContainText('gyro (roll, pitch)')

  await give(page, 'second.csv', log(1))
  const second = page.getByRole('article', { name: 'File second.csv' })
  await showColumns(second)
  await expect(second.getByLabel('Column for gyro pitch')).toHaveValue('2')
  await expect(second.getByLabel('Sign of gyro pitch')).toHaveValue('-1')
  await expect(
    second.getByText('You chose this before for a file with the same header.').first(),
  ).toBeVisible()
  await second.getByRole('button', { name: 'Add to logbook' }).click()

  await page.getByRole('button', { name: 'Details of second' }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Column for gyro yaw').selectOption('mystery')
  await dialog.getByLabel('Column for gyro pitch').selectOption('not in this file')
  await dialog.getByLabel('Craft').fill('Lantern')
  await dialog.getByRole('button', { name: 'Keep changes' }).click()
  await expect(page.getByRole('row', { name: /^Take second/ })).toContainText('gyro (roll, yaw)')
  await expect(page.getByRole('rowheader', { name: 'Lantern' })).toBeVisible()
  // The flight that was added before keeps what it was given.
  await expect(page.getByRole('row', { name: /Take first/ })).toContainText('gyro (roll, pitch)')
})

test('a meaning that can not stand is refused with a sentence', async ({ page, faults }) => {
  await give(page, 'first.csv', log(0))
  await page.getByRole('button', { name: 'Add to logbook' }).click()
  await page.getByRole('button', { name: 'Details of first' }).click()
  const details = page.getByRole('dialog')
  await details.getByLabel('Column for time').selectOption('not in this file')
  await details.getByRole('button', { name: 'Keep changes' }).click()
  await expect(details.getByRole('alert')).toHaveText(/A time column is needed/)
  expect(faults).toEqual([expect.stringContaining('400 (Bad Request)')])
  faults.length = 0
})

test('removing a flight asks first, and what is chosen is let go', async ({ page }) => {
  await give(page, 'first.csv', log(0))
  await page.getByRole('button', { name: 'Add to logbook' }).click()
  await page.getByRole('button', { name: 'Take first as A, before' }).click()
  await page.getByRole('button', { name: 'Remove first from the logbook' }).click()
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page.getByRole('button', { name: 'Remove first from the logbook' }).click()
  await page.getByRole('button', { name: 'Take it out' }).click()
  await expect(page.getByText('The logbook is empty.')).toBeVisible()
  await expect(page.getByText('A before: not chosen yet')).toBeVisible()
})

test('what a choice of unit and sign does is seen at once, before and after adding', async ({ page }) => {
  await give(page, 'first.csv', log(0))
  const first = page.getByRole('article', { name: 'File first.csv' })
  await showColumns(first)
  const roll = (range: string) => page.getByRole('img', { name: `gyro roll: ${range}` })
  await expect(roll('−115 to 115 deg/s')).toBeVisible()
  await expect(page.getByRole('img', { name: 'time: 4.99 s for 500 rows, 100 Hz' })).toBeVisible()
  await first.getByLabel('Unit of gyro roll').selectOption('deg/s')
  await expect(roll('−2 to 2 deg/s')).toBeVisible()
  await first.getByLabel('Column for gyro roll').selectOption('time (s)')
  await expect(roll('0 to 4.99 deg/s')).toBeVisible()
  await first.getByLabel('Sign of gyro roll').selectOption('reversed')
  await expect(roll('−4.99 to 0 deg/s')).toBeVisible()
  await first.getByLabel('Column for gyro roll').selectOption('gyro roll (rad/s)')
  await first.getByLabel('Unit of gyro roll').selectOption('rad/s')
  await first.getByRole('button', { name: 'Add to logbook' }).click()
  await page.getByRole('button', { name: 'Details of first' }).click()
  await expect(roll('−115 to 115 deg/s')).toBeVisible()
})

test('a setpoint that is not logged is drawn from stick and gyro, called what it is, and measured by nothing', async ({
  page,
}) => {
  // A stick that is moved and held, and a gyro 12 ms behind the rate it stands for.
  const flown = (start: number): string => {
    let state = start
    const random = () => (state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32
    const sticks = [0]
    let held = 0
    for (let row = 1; row < 10_000; row++) {
      if (row % 250 === 0) held = 2 * random() - 1
      sticks.push(sticks[row - 1]! + Math.max(-0.01, Math.min(0.01, held - sticks[row - 1]!)))
    }
    const rate_dps = (stick: number) => 250 * stick + 400 * stick ** 3
    const rows = sticks.map((stick, row) =>
      [
        (row / 500).toFixed(3),
        stick.toFixed(4),
        (rate_dps(sticks[Math.max(0, row - 6)]!) + random()).toFixed(2),
      ].join(','),
    )
    return `time (s),stick roll,gyro roll (deg/s)\n${rows.join('\n')}\n`
  }
  for (const [name, start] of [
    ['before', 1],
    ['after', 2],
  ] as const) {
    await give(page, `${name}.csv`, flown(start))
    await page
      .getByRole('article', { name: `File ${name}.csv` })
      .getByRole('button', { name: 'Add to logbook' })
      .click()
    await expect(page.getByRole('rowheader', { name, exact: true })).toBeVisible()
  }
  await chooseAndCompare(page, 'before', 'after')
  await expect(page.getByText('setpoint (estimated)', { exact: true }).first()).toBeVisible()
  await expect(page.getByTestId('gyroRms_dps-roll-a')).toHaveText(/\d/)
  await expect(page.getByTestId('trackingRms_dps-roll-a')).not.toHaveText(/\d/)
})
