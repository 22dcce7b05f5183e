/** The spectrogram lanes: colours, range, frequencies, difference, motors' lines; on the demo flights. */
import type { Page } from '@playwright/test'
import { coloursOf, waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true, shares: 'the demo' })
test.setTimeout(150_000)

test.beforeEach(async ({ page }) => {
  await page.getByRole('button', { name: 'Take Baseline as A, before' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Take More feed-forward as B, after' }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
  await expect(page.getByRole('complementary').getByText('Spectrograms')).toBeHidden()
})

const LANE = 'Spectrogram of the gyro, roll, flight A'
const menu = (page: Page) => page.getByRole('button', { name: 'Spectrograms', exact: true }).click()
const lane = async (page: Page, label: string) =>
  (await page.getByRole('img', { name: label }).boundingBox())!
const mostRed = (colours: Map<number, number>) =>
  [...colours].reduce((sum, [colour, count]) => sum + ((colour >> 16) - (colour & 255)) * count, 0)

test('three colour maps to choose from; the choice is kept', async ({ page }) => {
  const magma = await coloursOf(page, LANE)
  await menu(page)
  await page.getByRole('radio', { name: 'grey' }).check()
  // The ground that is seen where a flight has no samples is no level.
  const isLevel = (one: number) => one !== 0xece9e0
  await expect
    .poll(async () => {
      const levels = [...(await coloursOf(page, LANE)).keys()].filter(isLevel)
      return levels.length > 30 && levels.every((one) => one >> 16 === (one & 255))
    })
    .toBe(true)
  await page.getByRole('radio', { name: 'viridis' }).check()
  const viridis = await coloursOf(page, LANE)
  expect([...viridis.keys()].some((colour) => !magma.has(colour))).toBe(true)
  await page.waitForTimeout(500)
  await page.reload()
  await waitForNumbers(page)
  await menu(page)
  await expect(page.getByRole('radio', { name: 'viridis' })).toBeChecked()
})

test('the range of levels is dragged by its handles: one range for all', async ({ page }) => {
  const lowest = page.getByLabel('Lowest level, dB')
  const before = Number(await lowest.inputValue())
  const bar = (await lowest.boundingBox())!
  const [min, max] = [Number(await lowest.getAttribute('min')), Number(await lowest.getAttribute('max'))]
  const dark = mostRed(await coloursOf(page, LANE))
  const x = bar.x + 6 + ((before - min) / (max - min)) * (bar.width - 12)
  await page.mouse.move(x, bar.y + bar.height / 2)
  await page.mouse.down()
  await page.mouse.move(x - 25, bar.y + bar.height / 2, { steps: 4 })
  await page.mouse.up()
  await expect.poll(async () => Number(await lowest.inputValue())).toBeLessThan(before)
  // A lower floor lifts every colour.
  await expect.poll(async () => mostRed(await coloursOf(page, LANE))).not.toBe(dark)
  // The handles never cross.
  await lowest.fill(String(max))
  expect(Number(await lowest.inputValue())).toBeLessThan(
    Number(await page.getByLabel('Highest level, dB').inputValue()),
  )
})

test('hertz and decibels at the pointer; frequencies are drawn out and back', async ({ page }) => {
  const box = await lane(page, LANE)
  await page.mouse.move(box.x + box.width * 0.4, box.y + box.height * 0.5)
  const reads = page.getByTestId('frequency-roll')
  await expect(reads).toHaveText(/^\d+(\.\d)? Hz$/)
  await expect(page.getByTestId('level-a-roll')).toHaveText(/^A −?\d+ dB$/)
  const hz = async () => Number(/[\d.]+/.exec((await reads.textContent())!)![0])
  // Half way up the lane: half of the highest frequency, a quarter of the rate, within a pixel or two.
  const middle_hz = await hz()
  await page.keyboard.press('Shift+ArrowUp')
  await page.keyboard.press('Shift+ArrowUp')
  await page.mouse.move(box.x + box.width * 0.41, box.y + box.height * 0.5)
  await expect.poll(hz).toBeLessThan(middle_hz * 0.7)
  await menu(page)
  await page.getByRole('button', { name: 'All frequencies' }).click()
  await page.keyboard.press('Escape')
  await page.mouse.move(box.x + box.width * 0.4, box.y + box.height * 0.5)
  await expect.poll(async () => Math.abs((await hz()) - middle_hz) < 0.05 * middle_hz).toBe(true)
  // The wheel over the numbers does the same, at the pointer.
  await page.getByRole('group', { name: 'Row: roll spectrogram' }).locator('.scale').first().hover()
  await page.mouse.wheel(0, -300)
  await page.mouse.move(box.x + box.width * 0.4, box.y + 2)
  await expect.poll(hz).toBeLessThan(middle_hz * 1.7)
})

test('the difference: B minus A in decibels, one range to either side', async ({ page }) => {
  await menu(page)
  await page.getByRole('radio', { name: 'B minus A' }).check()
  await page.keyboard.press('Escape')
  const name = 'Difference of the spectrograms, roll, flight B minus flight A'
  await expect(page.getByRole('img', { name })).toBeVisible()
  await expect.poll(async () => (await coloursOf(page, name)).size).toBeGreaterThan(30)
  const box = await lane(page, name)
  await page.mouse.move(box.x + box.width * 0.4, box.y + box.height * 0.6)
  await expect(page.getByTestId('level-difference-roll')).toHaveText(/^B − A [+−]?\d+ dB$/)
  const range = page.getByLabel('Range of differences, dB to either side')
  const fitted = Number(await range.inputValue())
  expect(fitted).toBeGreaterThanOrEqual(6)
  const pale = await coloursOf(page, name)
  await range.fill('3')
  await expect
    .poll(async () => Math.abs(mostRed(await coloursOf(page, name)) - mostRed(pale)))
    .toBeGreaterThan(0)
  // A flight against itself moved by nothing would be all neutral; where one flight has nothing, nothing is painted.
  await page.getByRole('button', { name: 'Whole', exact: true }).click()
  await expect(page.getByRole('img', { name })).toBeVisible()
})

test('the motors’ lines lie where the logged speeds say, and say where they come from', async ({ page }) => {
  const before = await coloursOf(page, LANE)
  await page.getByRole('group', { name: 'Row: roll', exact: true }).hover()
  await page.keyboard.press('Shift+R')
  await expect(page.getByText('lines: logged speeds').first()).toBeVisible()
  await expect
    .poll(async () => (await coloursOf(page, LANE)).get(0xffffff) ?? 0)
    .toBeGreaterThan(before.get(0xffffff) ?? 0)
})
