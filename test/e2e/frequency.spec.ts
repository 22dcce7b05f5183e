/** The frequency screen on real logs: curves, figures, maps, their table twins, and refusals in words. */
import { sharedData } from '../shared-data.ts'
import { accessibilityFaults } from './support/axe.ts'
import { addFilesOnce, chooseAndCompare, waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

const original = sharedData('research-quad/gains-original.csv')
const changed = sharedData('research-quad/gains-i0-d4.csv')
const attitude = sharedData('research-quad/controller-a.csv')

test.skip(!original || !changed || !attitude, 'the shared flight data is not beside the project')
test.use({ shares: 'the research quad' })

test('spectra, response and noise of both flights, axis by axis', async ({ page }) => {
  test.slow()
  await addFilesOnce(page, [original!, changed!])
  await chooseAndCompare(page, 'gains-original', 'gains-i0-d4')
  await waitForNumbers(page)
  await page.getByRole('button', { name: 'Frequency' }).click()
  const spectrum = page.getByRole('region', { name: 'Gyro spectrum' })
  await expect(spectrum.locator('path.line')).toHaveCount(2)
  await expect(
    page.getByRole('region', { name: 'Step response' }).getByRole('row', { name: /Overshoot/ }),
  ).toContainText(/\d/)
  await expect(page.getByRole('region', { name: 'Noise by throttle' }).locator('canvas')).toHaveCount(3)
  await expect(page.getByRole('row', { name: /Whole error/ })).toContainText(/\d\d\.\d/)

  const overTime = page.getByRole('region', { name: 'Tracking over time' })
  await expect(overTime.locator('path.line')).toHaveCount(4)
  await expect(page.getByRole('row', { name: /Lag, by the slope of the phase/ })).toContainText(/\d+\.\d\d/)

  // The 24 Hz line of the craft (data/README.md) stands out between 22 and 28 Hz.
  await spectrum.getByText('Numbers').click()
  const values = await spectrum
    .locator('tbody tr')
    .evaluateAll((rows) =>
      rows.map((row) => [...row.children].map((cell) => Number((cell.textContent ?? '').replace('−', '-')))),
    )
  const near = values.filter(([f]) => f! > 22 && f! < 28)
  const [peak_hz] = near.reduce((best, row) => (row[1]! > best[1]! ? row : best))
  expect(Math.abs(peak_hz! - 24)).toBeLessThan(1.5)
  await spectrum.getByRole('button', { name: 'Copy as CSV' }).click()
  expect(await page.evaluate(() => navigator.clipboard.readText())).toMatch(
    /^"frequency, Hz",A density,"A density, low end",.*,B density,.*\r\n/,
  )

  const onClipboard = () => page.evaluate(() => navigator.clipboard.readText())
  const copy = (of: string) => page.getByRole('button', { name: new RegExp(`Copy as CSV.*${of}`) }).click()
  await copy('the figures of the step response')
  await expect.poll(onClipboard).toMatch(/\r\nOvershoot,[^,]+,\d/)
  await copy('where the tracking error comes from')
  await expect.poll(onClipboard).toMatch(/\r\n"Whole error, RMS, deg\/s",\d/)

  await page.getByRole('button', { name: 'pitch', exact: true }).click()
  await expect(page.getByRole('img', { name: /^Gyro spectrum, pitch/ })).toBeVisible()
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme })
    await expect(page.locator('html')).toHaveAttribute('data-theme', colorScheme)
    expect(await accessibilityFaults(page)).toEqual([])
  }
})

test('what can not be given says why, and the rest is shown', async ({ page }) => {
  await addFilesOnce(page, [original!, attitude!])
  await chooseAndCompare(page, 'gains-original', 'controller-a')
  await waitForNumbers(page)
  await page.getByRole('button', { name: 'Frequency' }).click()
  const response = page.getByRole('region', { name: 'Step response' })
  await expect(response).toContainText('B: The log holds no setpoint for this axis.')
  await expect(page.getByRole('region', { name: 'Tracking over time' })).toContainText(
    'B: The log holds no setpoint',
  )
  await expect(page.getByRole('region', { name: 'Gyro spectrum' }).locator('path.line')).toHaveCount(2)
})
