/**
 * The whole job on real logs, in a real window: two files in, both flights overlaid, numbers read, one picture out.
 * Outside facts are from ../shared/data/README.md (open-licensed logs of a research quad, computed with SciPy 1.10).
 */
import { createCanvas, loadImage } from '@napi-rs/canvas'
import { readFileSync } from 'node:fs'
import { readPngText } from '../../workers/picture/png-text.ts'
import { sharedData } from '../shared-data.ts'
import {
  addFilesOnce,
  chooseAndCompare,
  coloursOf,
  cursorShares,
  numberIn,
  waitForNumbers,
} from './support/job.ts'
import { expect, test } from './support/program.ts'

const original = sharedData('research-quad/gains-original.csv')
const changed = sharedData('research-quad/gains-i0-d4.csv')

test.skip(!original || !changed, 'the shared flight data is not beside the project')

test.use({ shares: 'the research quad' })

test.beforeEach(async ({ page }) => {
  await addFilesOnce(page, [original!, changed!])
  await chooseAndCompare(page, 'gains-original', 'gains-i0-d4')
  // The cursor shall stand where the pointer is; whether manoeuvres are known already is a matter of time.
  await page.getByRole('button', { name: 'Snap', exact: true }).click()
})

test('both flights are measured in the visible span', async ({ page }) => {
  await waitForNumbers(page)
  // Lag of the command-to-gyro loop: roll and pitch 33 ms (before), 34 and 33 ms (after), within 2 ms.
  expect(Math.abs((await numberIn(page, 'lag_ms-roll-a')) - 33)).toBeLessThan(2)
  expect(Math.abs((await numberIn(page, 'lag_ms-pitch-a')) - 33)).toBeLessThan(2)
  expect(Math.abs((await numberIn(page, 'lag_ms-roll-b')) - 34)).toBeLessThan(2)
  expect(Math.abs((await numberIn(page, 'lag_ms-pitch-b')) - 33)).toBeLessThan(2)
  expect(await numberIn(page, 'trackingRms_dps-roll-a')).toBeGreaterThan(0)
})

test('the cursor stands at the same time in every pane and reads both flights', async ({ page }) => {
  await waitForNumbers(page)
  const panes = page.getByTestId('pane')
  await expect(panes).toHaveCount(7)
  const box = (await panes.first().boundingBox())!
  await page.mouse.move(box.x + box.width * 0.4, box.y + box.height / 2)
  await expect.poll(() => cursorShares(page)).toEqual([40])
  const cursor = (await page.getByTestId('cursor').boundingBox())!
  const last = (await panes.last().boundingBox())!
  expect(cursor.x - (box.x + box.width * 0.4)).toBeCloseTo(0, -0.7)
  expect(cursor.y).toBeLessThanOrEqual(box.y)
  expect(cursor.y + cursor.height).toBeGreaterThanOrEqual(last.y + last.height)
  for (const channel of ['a-gyro.roll', 'a-setpoint.pitch', 'b-gyro.yaw', 'b-throttle']) {
    await expect(page.getByTestId(`readout-${channel}`)).toHaveText(/^[−\d][\d.]*$/)
  }
})

test('beside: each flight has its own panes, with the cursor at the same time', async ({ page }) => {
  await waitForNumbers(page)
  await page.getByRole('button', { name: 'Beside' }).click()
  const panes = page.getByTestId('pane')
  await expect(panes).toHaveCount(14)
  const box = (await panes.nth(1).boundingBox())!
  await page.mouse.move(box.x + box.width * 0.25, box.y + 10)
  await expect.poll(() => cursorShares(page)).toEqual([25, 25])
})

test('wheel and drag move through the flight; back returns; numbers follow the view', async ({ page }) => {
  await waitForNumbers(page)
  const title = page.locator('#measures-title')
  const whole = await title.textContent()
  const box = (await page.getByTestId('pane').first().boundingBox())!
  await page.mouse.move(box.x + box.width / 2, box.y + 20)
  await page.mouse.wheel(0, -600)
  await expect(title).not.toHaveText(whole!)
  const zoomed = await title.textContent()
  const before = await page.locator('.axis span').first().textContent()
  await page.mouse.down()
  await page.mouse.move(box.x + box.width / 2 + 200, box.y + 20, { steps: 4 })
  await page.mouse.up()
  await expect(page.locator('.axis span').first()).not.toHaveText(before!)
  await expect(title).toHaveText(zoomed!)
  await page.keyboard.press('Home')
  await expect(page.getByRole('button', { name: 'Whole', exact: true })).toBeDisabled()
  await page.getByRole('button', { name: 'Back', exact: true }).click()
  await expect(page.getByRole('button', { name: 'Whole', exact: true })).toBeEnabled()
})

test('rows can show the error, and be put away', async ({ page }) => {
  await waitForNumbers(page)
  await page.getByRole('button', { name: 'Rows', exact: true }).click()
  await page.getByLabel('Each axis shows').selectOption('setpoint minus gyro')
  await expect(page.getByRole('img', { name: 'Setpoint minus gyro, roll, flight A and B' })).toBeVisible()
  const box = (await page.getByTestId('pane').first().boundingBox())!
  await page.mouse.move(box.x + box.width / 2, box.y + 20)
  const read = async (channel: string) =>
    Number((await page.getByTestId(`readout-a-${channel}`).textContent())!.replace('−', '-'))
  const error = await read('error.roll')
  await page.getByLabel('Each axis shows').selectOption('setpoint and gyro')
  await page.mouse.move(box.x + box.width / 2, box.y + 22)
  // Both are rounded to a tenth.
  expect(Math.abs(error - ((await read('setpoint.roll')) - (await read('gyro.roll'))))).toBeLessThan(0.16)
  await page.getByRole('checkbox', { name: 'spectrograms' }).uncheck()
  await expect(page.getByTestId('pane')).toHaveCount(4)
})

test('two marks give the time between them; the overview takes the view along', async ({ page }) => {
  await waitForNumbers(page)
  const box = (await page.getByTestId('pane').first().boundingBox())!
  await page.mouse.move(box.x + box.width * 0.25, box.y + 20)
  await page.keyboard.press('1')
  await page.mouse.move(box.x + box.width * 0.75, box.y + 20)
  await page.keyboard.press('2')
  // Half of the 65.71 s in which both flights have samples.
  await expect(page.getByTestId('marks')).toHaveText(/\+328\d\d\.\d ms, 0\.03 Hz/)
  await page.keyboard.press('+')
  await page.keyboard.press('+')
  const shown = page.getByRole('img', { name: /^Overview of both flights/ })
  const before = await shown.getAttribute('aria-label')
  const strip = (await shown.boundingBox())!
  await page.mouse.move(strip.x + strip.width * 0.1, strip.y + 10)
  await page.mouse.down()
  await page.mouse.move(strip.x + strip.width * 0.3, strip.y + 10, { steps: 3 })
  await page.mouse.up()
  await expect(shown).not.toHaveAttribute('aria-label', before!)
  await page.getByRole('button', { name: 'Take the marks away' }).click()
  await expect(page.getByTestId('marks')).toHaveCount(0)
})

test('B is laid over A by the setpoints, can be moved by hand and put back', async ({ page }) => {
  const offset = page.getByTestId('offset')
  await expect(page.getByText(/setpoints of the two flights match best here/)).toBeVisible()
  const automatic = await offset.textContent()
  await page.getByRole('button', { name: 'Move B 10 ms later' }).click()
  await expect(offset).not.toHaveText(automatic!)
  const byHand = await offset.textContent()
  const box = (await page.getByTestId('pane').first().boundingBox())!
  await page.keyboard.down('Alt')
  await page.mouse.move(box.x + 300, box.y + 20)
  await page.mouse.down()
  await page.mouse.move(box.x + 360, box.y + 20, { steps: 3 })
  await page.mouse.up()
  await page.keyboard.up('Alt')
  await expect(offset).not.toHaveText(byHand!)
  await page.getByRole('button', { name: 'By the sticks' }).click()
  await expect(offset).toHaveText(automatic!)
})

test('the spectrogram lanes are painted for both flights on one range of levels', async ({ page }) => {
  await waitForNumbers(page)
  await expect(page.getByRole('complementary').getByText('Spectrograms')).toBeHidden()
  const lanes = /^Spectrogram of the gyro/
  await expect(page.getByRole('img', { name: lanes })).toHaveCount(6)
  for (let lane = 0; lane < 6; lane++) {
    expect((await coloursOf(page, lanes, lane)).size).toBeGreaterThan(50)
  }
  const highest = page.getByLabel('Highest level, dB')
  const fitted = await highest.inputValue()
  await highest.press('ArrowRight')
  await highest.press('ArrowRight')
  await expect(highest).toHaveValue(String(Number(fitted) + 2))
  await page.getByRole('button', { name: 'Fit levels' }).click()
  await expect(highest).toHaveValue(fitted)
})

test('one PNG holds both flights, at double size, without names, and can be copied', async ({ page }) => {
  await waitForNumbers(page)
  await page.keyboard.press('p')
  await page.getByLabel('Note').fill('I taken out, D raised')
  const save = page.getByRole('button', { name: 'Save PNG' })
  await expect(save).toBeEnabled({ timeout: 30_000 })
  const download = page.waitForEvent('download')
  await save.click()
  const file = await download
  expect(file.suggestedFilename()).toBe('comparison.png')
  const bytes = readFileSync(await file.path())
  const text = readPngText(bytes)
  expect(text['Description']).toContain('I taken out, D raised')
  expect(JSON.stringify(text)).not.toContain('gains-')
  const image = await loadImage(bytes)
  expect(image.width).toBe(2400)
  expect(image.height).toBeGreaterThanOrEqual(1600)
  const canvas = createCanvas(image.width, image.height)
  const context = canvas.getContext('2d')
  context.drawImage(image, 0, 0)
  const { data } = context.getImageData(0, 0, image.width, image.height)
  const count = { a: 0, b: 0 }
  for (let index = 0; index < data.length; index += 4) {
    // Okabe & Ito's blue and vermilion: the colours of A and B in the light picture.
    if (data[index] === 0x00 && data[index + 1] === 0x72 && data[index + 2] === 0xb2) count.a++
    if (data[index] === 0xd5 && data[index + 1] === 0x5e && data[index + 2] === 0x00) count.b++
  }
  expect(count.a).toBeGreaterThan(5000)
  expect(count.b).toBeGreaterThan(5000)
  await page.getByRole('button', { name: 'Copy picture' }).click()
  await expect(page.getByRole('status')).toHaveText(/Copied/)
  const copied = await page.evaluate(async () => (await navigator.clipboard.read())[0]?.types)
  expect(copied).toContain('image/png')
})
