import type { Page } from '@playwright/test'
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

/** Chooses A and B by name and opens them side by side. */
export async function chooseAndCompare(page: Page, a: string, b: string): Promise<void> {
  await page.getByRole('button', { name: `Take ${a} as A, before` }).click()
  await page.getByRole('button', { name: `Take ${b} as B, after` }).click()
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
