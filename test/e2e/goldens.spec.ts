/**
 * Few key views, pixel by pixel: the canvases of the plots and spectrograms (no text, so that no font matters), on
 * flights made by formula, at a fixed size and scale factor. To make them anew after a wanted change:
 * `npx playwright test goldens --update-snapshots`, then look at every picture in test/e2e/goldens before keeping it.
 */
import type { Page } from '@playwright/test'
import { addFilesOnce, chooseAndCompare, waitForNumbers } from './support/job.ts'
import { writeGoldenFlights } from './support/golden-flights.ts'
import { expect, test } from './support/program.ts'

test.use({
  colorScheme: 'light',
  viewport: { width: 1280, height: 720 },
  deviceScaleFactor: 1,
  shares: 'goldens',
})

/** Marks along the lines are the browser's own soft-edged arcs: a pixel of theirs may differ by this much, no more. */
const SAME = { threshold: 0.05, maxDiffPixels: 12 }

test.beforeEach(async ({ page, home }) => {
  await addFilesOnce(page, writeGoldenFlights(home))
  await chooseAndCompare(page, 'golden-a', 'golden-b')
  await waitForNumbers(page)
  await page.locator('.plots').evaluate((plots) => {
    Object.assign((plots as HTMLElement).style, { flex: 'none', width: '900px', height: '420px' })
  })
})

/** All plots of the rows as they stand in the window, as one PNG, without what is between them. */
async function picture(page: Page): Promise<Buffer> {
  await expect(page.getByRole('complementary').getByText('Spectrograms')).toBeHidden()
  await page.waitForTimeout(600)
  const bytes = await page.locator('.rows').evaluate(async (rows) => {
    const canvas = rows.querySelector('canvas')!
    const { left: x, top: y } = canvas.getBoundingClientRect()
    const boxes = [...rows.querySelectorAll('[role="img"]')].map((plot) => plot.getBoundingClientRect())
    const left = Math.min(...boxes.map((box) => box.left))
    const top = Math.min(...boxes.map((box) => box.top))
    const width = Math.ceil(Math.max(...boxes.map((box) => box.right)) - left)
    const height = Math.ceil(Math.max(...boxes.map((box) => box.bottom)) - top)
    const whole = new OffscreenCanvas(width, height)
    const context = whole.getContext('2d')!
    for (const box of boxes) {
      const [from, to] = [Math.round(box.left) - Math.round(x), Math.round(box.right) - Math.round(x)]
      const [above, below] = [Math.round(box.top) - Math.round(y), Math.round(box.bottom) - Math.round(y)]
      const [wide, high] = [to - from, below - above]
      context.drawImage(
        canvas,
        from,
        above,
        wide,
        high,
        Math.round(box.left - left),
        Math.round(box.top - top),
        wide,
        high,
      )
    }
    return [...new Uint8Array(await (await whole.convertToBlob({ type: 'image/png' })).arrayBuffer())]
  })
  return Buffer.from(bytes)
}

async function showRows(page: Page, spectrograms: boolean): Promise<void> {
  await page.getByRole('button', { name: 'Rows', exact: true }).click()
  await page.getByRole('checkbox', { name: 'motors', exact: true }).setChecked(!spectrograms)
  await page.getByRole('checkbox', { name: 'spectrograms' }).setChecked(spectrograms)
  await page.keyboard.press('Escape')
  if (!spectrograms) return
  // One axis is enough to tell, and keeps the picture small.
  for (const row of ['roll', 'pitch', 'pitch spectrogram', 'yaw', 'yaw spectrogram', 'throttle']) {
    await page.getByRole('button', { name: `${row} row`, exact: true }).click()
  }
}

test('traces overlaid: the whole flight, with B’s gap', async ({ page }) => {
  await showRows(page, false)
  expect(await picture(page)).toMatchSnapshot('overlaid-light.png', SAME)
})

test('traces beside each other in the dark, drawn out in time', async ({ page }) => {
  await page.emulateMedia({ colorScheme: 'dark' })
  await showRows(page, false)
  await page.getByRole('button', { name: 'Beside' }).click()
  for (let time = 0; time < 4; time++) await page.getByRole('button', { name: 'Zoom in' }).click()
  expect(await picture(page)).toMatchSnapshot('beside-dark.png', SAME)
})

test('spectrograms of both flights', async ({ page }) => {
  await showRows(page, true)
  expect(await picture(page)).toMatchSnapshot('lanes-light.png', SAME)
})

test('the difference of the spectrograms, in the dark', async ({ page }) => {
  await page.emulateMedia({ colorScheme: 'dark' })
  await showRows(page, true)
  await page.getByRole('button', { name: 'Spectrograms', exact: true }).click()
  await page.getByRole('radio', { name: 'B minus A' }).check()
  await page.keyboard.press('Escape')
  await expect(page.getByLabel('Range of differences, dB to either side')).toBeVisible()
  expect(await picture(page)).toMatchSnapshot('difference-dark.png', SAME)
})

test('the strip of the whole flights tells of gaps and of motors at their end', async ({ page }) => {
  const strip = page.getByRole('img', { name: /^Overview of both flights/ })
  await expect(strip).toHaveAttribute(
    'aria-label',
    /A has motors at their end, B has gaps, B has motors at their end/,
  )
})
