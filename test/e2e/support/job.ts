import type { Page } from '@playwright/test'
import { basename, extname } from 'node:path'
import { expect } from './program.ts'

/** Gives files to the logbook as a pilot would, and adds each. */
export async function addFiles(page: Page, paths: string[]): Promise<void> {
  await page.getByLabel('Log files').setInputFiles(paths)
  // Looked at one after the other: all are there when the last is.
  const add = page.getByRole('button', { name: 'Add to logbook' })
  for (let left = paths.length; left > 0; left--) {
    await expect(add).toHaveCount(left)
    await add.first().click()
    await expect(page.getByRole('status')).toContainText('Added to the logbook')
  }
}

/** The same where tests share a program: files that the logbook has already are left alone. */
export async function addFilesOnce(page: Page, paths: string[]): Promise<void> {
  const logbook = page.getByRole('table', { name: 'Flights' })
  await expect(logbook.or(page.getByText('The logbook is empty.'))).toBeVisible()
  const missing: string[] = []
  for (const path of paths) {
    const take = page.getByRole('button', { name: `Take ${basename(path, extname(path))} as A, before` })
    if ((await take.count()) === 0) missing.push(path)
  }
  if (missing.length > 0) await addFiles(page, missing)
}

/** Chooses A and B by name and opens them side by side. */
export async function chooseAndCompare(page: Page, a: string, b: string): Promise<void> {
  const takeA = page.getByRole('button', { name: `Take ${a} as A, before` })
  const takeB = page.getByRole('button', { name: `Take ${b} as B, after` })
  // A flight that comes into the list moves the others: nothing is pressed before both are there.
  await expect(takeB).toBeVisible()
  await takeA.click()
  await takeB.click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await expect(page.getByRole('toolbar', { name: 'View' })).toBeVisible()
}

/** Until the measures of the visible span are there. */
export async function waitForNumbers(page: Page): Promise<void> {
  await expect(page.getByTestId('gyroRms_dps-roll-a')).toHaveText(/\d/)
  await expect(page.locator('section[aria-busy="true"]')).toHaveCount(0)
}

/** The number that a cell shows. */
export async function numberIn(page: Page, testId: string): Promise<number> {
  const text = await page.getByTestId(testId).textContent()
  return Number((text ?? '').replace('−', '-'))
}

/** Where the cursor stands in every column of panes, in whole percent of a pane's width. */
export function cursorShares(page: Page): Promise<number[]> {
  return page
    .getByTestId('cursor')
    .evaluateAll((cursors) =>
      cursors.map((cursor) =>
        Math.round(Number(/translateX\(([\d.]+)cqw\)/.exec((cursor as HTMLElement).style.transform)?.[1])),
      ),
    )
}

/** A spectrogram's name stands in its corner, CSS pixels. */
const BADGE_PX = 60

/**
 * The colours of a plot of the rows, as numbers, with how many pixels have each: of its place on the canvas behind all,
 * but for its left end, where a spectrogram has its name.
 */
export async function coloursOf(page: Page, label: RegExp | string, nth = 0): Promise<Map<number, number>> {
  const plot = page.getByRole('img', { name: label }).nth(nth)
  const counted = await plot.evaluate((element, badge_px) => {
    const canvas = element.closest('.rows')!.querySelector('canvas')!
    const [inner, outer] = [element.getBoundingClientRect(), canvas.getBoundingClientRect()]
    const ratio = window.devicePixelRatio
    const { data } = canvas
      .getContext('2d')!
      .getImageData(
        Math.round((inner.left + badge_px) * ratio) - Math.round(outer.left * ratio),
        Math.round(inner.top * ratio) - Math.round(outer.top * ratio),
        Math.floor((inner.width - badge_px) * ratio),
        Math.round(inner.bottom * ratio) - Math.round(inner.top * ratio),
      )
    const seen = new Map<number, number>()
    for (let index = 0; index < data.length; index += 4) {
      const colour = data[index]! * 65536 + data[index + 1]! * 256 + data[index + 2]!
      seen.set(colour, (seen.get(colour) ?? 0) + 1)
    }
    return [...seen]
  }, BADGE_PX)
  return new Map(counted)
}
