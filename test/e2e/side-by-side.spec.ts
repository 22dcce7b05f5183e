/** Moving in the side-by-side view: rows, scales, views, manoeuvres and pairs, alignment; on the demo flights. */
import type { Locator, Page } from '@playwright/test'
import { accessibilityFaults } from './support/axe.ts'
import { coloursOf, cursorShares, waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true, shares: 'the demo' })
test.setTimeout(150_000)

/** A's blue and B's vermilion in the light theme (Okabe and Ito's palette). */
const BLUE = 0x0072b2

test.beforeEach(async ({ page }) => {
  await page.getByRole('button', { name: 'Take Baseline as A, before' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Take More feed-forward as B, after' }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
})

const rowTitles = (page: Page) => page.locator('[data-row] h2').allTextContents()
const row = (page: Page, title: string) => page.getByRole('group', { name: `Row: ${title}`, exact: true })
const heightOf = async (locator: Locator) => Math.round((await locator.boundingBox())!.height)
const firstPane = async (page: Page) => (await page.getByTestId('pane').first().boundingBox())!
const span = (page: Page) =>
  page.getByRole('img', { name: /^Overview of both flights/ }).getAttribute('aria-label')
const zoomIn = async (page: Page, notches: number, share = 0.5) => {
  const box = await firstPane(page)
  await page.mouse.move(box.x + box.width * share, box.y + 20)
  for (let notch = 0; notch < notches; notch++) await page.mouse.wheel(0, -100)
}

test('rows fold up, move and grow by pointer and by key, and stay so', async ({ page }) => {
  await row(page, 'yaw').getByRole('button', { name: 'yaw row', exact: true }).click()
  await expect(row(page, 'yaw').getByRole('button', { name: 'yaw row', exact: true })).toHaveAttribute(
    'aria-expanded',
    'false',
  )
  expect(await heightOf(row(page, 'yaw'))).toBeLessThan(30)

  // By pointer: the throttle's name is dropped on the upper half of the first row.
  const handle = (await row(page, 'throttle').locator('h2').boundingBox())!
  const first = (await row(page, 'roll').boundingBox())!
  await page.mouse.move(handle.x + 20, handle.y + 5)
  await page.mouse.down()
  await page.mouse.move(handle.x + 20, first.y + 60, { steps: 4 })
  await page.mouse.move(handle.x + 20, first.y + 6, { steps: 2 })
  await page.mouse.up()
  await expect.poll(async () => (await rowTitles(page))[0]).toBe('throttle')
  // By key: the row under the focus.
  await row(page, 'roll').getByRole('button', { name: 'roll row', exact: true }).focus()
  await page.keyboard.press('Alt+ArrowUp')
  await expect.poll(async () => (await rowTitles(page)).slice(0, 2)).toEqual(['roll', 'throttle'])

  const before = await heightOf(row(page, 'roll'))
  const divider = page.getByRole('separator', { name: 'Height of the roll row' })
  const line = (await divider.boundingBox())!
  await page.mouse.move(line.x + 300, line.y + 3)
  await page.mouse.down()
  await page.mouse.move(line.x + 300, line.y + 33, { steps: 3 })
  await page.mouse.up()
  await expect.poll(() => heightOf(row(page, 'roll'))).toBeGreaterThan(before + 25)
  const dragged = await heightOf(row(page, 'roll'))
  await divider.focus()
  await page.keyboard.press('ArrowUp')
  await page.keyboard.press('ArrowUp')
  await expect.poll(() => heightOf(row(page, 'roll'))).toBeLessThan(dragged)

  const titles = await rowTitles(page)
  const height = await heightOf(row(page, 'roll'))
  await page.waitForTimeout(500) // what is kept is written a moment later
  await page.reload()
  await waitForNumbers(page)
  expect(await rowTitles(page)).toEqual(titles)
  expect(Math.abs((await heightOf(row(page, 'roll'))) - height)).toBeLessThanOrEqual(2)
  await expect(row(page, 'yaw').getByRole('button', { name: 'yaw row', exact: true })).toHaveAttribute(
    'aria-expanded',
    'false',
  )
  await page.getByRole('button', { name: 'Rows', exact: true }).click()
  await page.getByRole('button', { name: 'Rows as they were at first' }).click()
  await expect.poll(async () => (await rowTitles(page))[0]).toBe('roll')
})

test('a row draws any signal that the flights have; other units get scales of their own', async ({
  page,
}) => {
  const roll = row(page, 'roll')
  await roll.getByRole('button', { name: 'What the roll row shows' }).click()
  await page.getByRole('checkbox', { name: /^unfiltered gyro/ }).check()
  await page.getByRole('checkbox', { name: /^D-term/ }).check()
  await page.keyboard.press('Escape')
  await expect(page.getByRole('checkbox', { name: /^D-term/ })).toBeHidden()
  const box = await firstPane(page)
  await page.mouse.move(box.x + box.width * 0.4, box.y + 20)
  await expect(page.getByTestId('readout-a-unfiltered.roll')).toHaveText(/^[−\d][\d.]*$/)
  await expect(page.getByTestId('readout-b-dTerm.roll')).toHaveText(/^[−\d][\d.]*$/)
  await expect(roll.getByText(/of the demand: fitted/)).toBeVisible()

  await page.getByRole('button', { name: 'Rows', exact: true }).click()
  await page.getByRole('checkbox', { name: 'motors', exact: true }).check()
  await page.getByRole('checkbox', { name: 'battery', exact: true }).check()
  await page.keyboard.press('Escape')
  await page.mouse.move(box.x + box.width * 0.45, box.y + 20)
  await expect(page.getByTestId('readout-a-motor.4')).toHaveText(/^\d+$/)
  await expect(page.getByTestId('readout-b-battery')).toHaveText(/^1[3-7]\.\d\d$/)
})

test('one trace stands out alone, and there is an obvious way back', async ({ page }) => {
  const blueBefore = (await coloursOf(page, 'Setpoint and gyro, roll, flight A and B')).get(BLUE) ?? 0
  const button = page.getByRole('button', { name: 'B gyro: let it stand out alone' }).first()
  await button.click()
  await expect(button).toHaveAttribute('aria-pressed', 'true')
  const back = page.getByRole('button', { name: /Only B gyro stands out: show all/ })
  await expect(back).toBeVisible()
  await expect
    .poll(async () => (await coloursOf(page, 'Setpoint and gyro, roll, flight A and B')).get(BLUE) ?? 0)
    .toBeLessThan(blueBefore / 10)
  await page.keyboard.press('Escape')
  await expect(back).toBeHidden()
  await button.click()
  await back.click()
  await expect(button).toHaveAttribute('aria-pressed', 'false')
})

test('scales are locked between flights; when they are not, it is said', async ({ page }) => {
  await expect(page.getByText('A and B on scales of their own')).toHaveCount(0)
  await page.keyboard.press('y')
  await expect(page.getByRole('button', { name: 'Scales not locked' })).toBeVisible()
  await zoomIn(page, 6, 0.45)
  await page.keyboard.press('f')
  await expect(page.getByText('A and B on scales of their own').first()).toBeVisible()
  await page.getByRole('button', { name: 'Scales not locked' }).click()
  await expect(page.getByText('A and B on scales of their own')).toHaveCount(0)
  const top = (title: string) => row(page, title).locator('.scale span').last().textContent()
  expect(await top('roll')).not.toBe(await top('yaw'))
  await page.getByRole('button', { name: 'Rows', exact: true }).click()
  await page.getByRole('checkbox', { name: 'roll, pitch and yaw on one scale' }).check()
  await expect.poll(async () => (await top('roll')) === (await top('yaw'))).toBe(true)
})

test('a box chooses time and value; one step back undoes both; the wheel draws a scale out', async ({
  page,
}) => {
  const box = await firstPane(page)
  const whole = await span(page)
  await page.keyboard.down('Shift')
  await page.mouse.move(box.x + box.width * 0.3, box.y + 10)
  await page.mouse.down()
  await page.mouse.move(box.x + box.width * 0.5, box.y + box.height * 0.5, { steps: 4 })
  await page.mouse.up()
  await page.keyboard.up('Shift')
  await expect.poll(() => span(page)).not.toBe(whole)
  await expect(row(page, 'roll').getByRole('button', { name: 'Whole scale' })).toBeVisible()
  await page.getByRole('button', { name: 'Back', exact: true }).click()
  await expect(row(page, 'roll').getByRole('button', { name: 'Whole scale' })).toBeHidden()
  expect(await span(page)).toBe(whole)
  await page.getByRole('button', { name: 'Forward', exact: true }).click()
  await expect(row(page, 'roll').getByRole('button', { name: 'Whole scale' })).toBeVisible()
  await page.keyboard.press('Home')
  await expect(row(page, 'roll').getByRole('button', { name: 'Whole scale' })).toBeHidden()
  // Alt and wheel over a plot, or the wheel over its numbers.
  await page.mouse.move(box.x + 200, box.y + 30)
  await page.keyboard.down('Alt')
  await page.mouse.wheel(0, -300)
  await page.keyboard.up('Alt')
  await row(page, 'roll').getByRole('button', { name: 'Whole scale' }).click()
  await expect(row(page, 'roll').getByRole('button', { name: 'Whole scale' })).toBeHidden()
  await row(page, 'pitch').locator('.scale').first().hover()
  await page.mouse.wheel(0, -300)
  await expect(row(page, 'pitch').getByRole('button', { name: 'Whole scale' })).toBeVisible()
})

test('pinching zooms, by touch pad and by two fingers', async ({ page }) => {
  const length = async () => {
    const [, from, to] = /seconds ([\d.−]+) to ([\d.]+)/.exec((await span(page))!)!
    return Number(to) - Number(from!.replace('−', '-'))
  }
  const before = await length()
  const box = await firstPane(page)
  await page.mouse.move(box.x + box.width / 2, box.y + 30)
  await page.keyboard.down('Control')
  for (let turn = 0; turn < 5; turn++) await page.mouse.wheel(0, -12)
  await page.keyboard.up('Control')
  await expect.poll(length).toBeLessThan(before * 0.75)
  const pinched = await length()
  const touch = await page.context().newCDPSession(page)
  const fingers = (apart: number) =>
    [-1, 1].map((side, id) => ({ x: box.x + box.width / 2 + side * apart, y: box.y + 30, id }))
  await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: fingers(40) })
  for (let apart = 50; apart <= 120; apart += 10) {
    await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: fingers(apart) })
  }
  await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] })
  await expect.poll(length).toBeLessThan(pinched * 0.6)
})

test('keys go to manoeuvres and pairs; the cursor snaps to manoeuvres, or not', async ({ page }) => {
  await expect(page.getByRole('button', { name: 'Why' })).toBeVisible({ timeout: 60_000 })
  await zoomIn(page, 8, 0.3)
  await page.mouse.move(5, 5)
  await page.keyboard.press('j')
  const first = await page.getByTestId('cursor-time').textContent()
  expect(first).toMatch(/at \d+\.\d{3} s/)
  await page.keyboard.press('j')
  await expect(page.getByTestId('cursor-time')).not.toHaveText(first!)
  await page.keyboard.press('Shift+J')
  await expect(page.getByTestId('cursor-time')).toHaveText(first!)
  await expect(page.getByRole('complementary').getByRole('heading', { name: /^[AB]: / })).toBeVisible()

  // Near the cursor's place it snaps to it.
  const [share] = await cursorShares(page)
  const box = await firstPane(page)
  const near = box.x + (box.width * share!) / 100 + 3
  await page.mouse.move(near - 60, box.y + 20)
  await page.mouse.move(near, box.y + 20)
  await expect(page.getByTestId('snapped')).toHaveText(/^[AB] .*, (begin|stop|end)$/)
  await page.keyboard.press('Shift+S')
  await page.mouse.move(near + 1, box.y + 20)
  await expect(page.getByTestId('snapped')).toHaveText('manoeuvres')

  const offset = await page.getByTestId('offset').textContent()
  await page.keyboard.press('Control+ArrowRight')
  await expect(page.getByTestId('offset')).not.toHaveText(offset!)
  await expect(page.getByText('by one pair of manoeuvres')).toBeVisible()
  await page.keyboard.press('Control+Z')
  await expect(page.getByTestId('offset')).toHaveText(offset!)
})

test('moving B by hand is one step of undo, and can be redone', async ({ page }) => {
  const offset = page.getByTestId('offset')
  const automatic = await offset.textContent()
  const box = await firstPane(page)
  await page.keyboard.down('Alt')
  await page.mouse.move(box.x + 300, box.y + 20)
  await page.mouse.down()
  await page.mouse.move(box.x + 380, box.y + 20, { steps: 8 })
  await page.mouse.up()
  await page.keyboard.up('Alt')
  await expect(offset).not.toHaveText(automatic!)
  const moved = await offset.textContent()
  await page.keyboard.press('Control+Z')
  await expect(offset).toHaveText(automatic!)
  await page.keyboard.press('Control+Shift+Z')
  await expect(offset).toHaveText(moved!)
  await page.keyboard.press('l')
  await expect(offset).toHaveText(automatic!)
})

test('marks are dragged by their numbers and tell what every shown signal did', async ({ page }) => {
  const box = await firstPane(page)
  await page.mouse.move(box.x + box.width * 0.25, box.y + 20)
  await page.keyboard.press('1')
  await page.mouse.move(box.x + box.width * 0.5, box.y + 20)
  await page.keyboard.press('2')
  const words = await page.getByTestId('marks').textContent()
  await expect(page.getByTestId('moved-a-throttle')).toHaveText(/^[+−]?\d+$/)
  const handle = page.getByTestId('over-panes').getByText('2', { exact: true })
  const at = (await handle.boundingBox())!
  await page.mouse.move(at.x + 6, at.y + 6)
  await page.mouse.down()
  await page.mouse.move(at.x + 106, at.y + 6, { steps: 3 })
  await page.mouse.up()
  await expect(page.getByTestId('marks')).not.toHaveText(words!)
  await expect(page.getByTestId('marks')).toHaveText(/ms, 0\.0\d Hz/)
})

test('nothing of it breaks the rules of accessibility, in either theme', async ({ page }) => {
  await page.keyboard.press('1')
  await page.getByRole('button', { name: 'B gyro: let it stand out alone' }).first().click()
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme })
    await page.getByRole('button', { name: 'Spectrograms', exact: true }).click()
    expect(await accessibilityFaults(page)).toEqual([])
    await page.keyboard.press('Escape')
  }
})
