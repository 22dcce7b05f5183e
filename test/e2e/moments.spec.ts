/** Moments side by side: marked by one key, edited in place, gone to, undone; kept over a restart; hostile text. */
import type { Page } from '@playwright/test'
import { Library } from '../../electron/library/library.ts'
import { accessibilityFaults } from './support/axe.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true })
test.setTimeout(150_000)

const panel = (page: Page) => page.getByRole('region', { name: 'Moments', exact: true })
const strip = (page: Page) => page.getByRole('group', { name: 'Moments', exact: true }).getByRole('button')
const note = (page: Page) => page.getByRole('textbox', { name: 'Note', exact: true })

async function sideBySide(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Take Baseline as A, before' }).click({ timeout: 60_000 })
  await page.getByRole('button', { name: 'Take Higher I limit as B, after' }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await expect(page.getByRole('toolbar', { name: 'View' })).toBeVisible({ timeout: 60_000 })
  // What the demo's pilot marked in the first flight.
  await expect(strip(page)).toHaveCount(2)
}

async function pointAt(page: Page, share: number): Promise<void> {
  const box = (await page.getByTestId('pane').first().boundingBox())!
  await page.mouse.move(box.x + box.width * share, box.y + box.height / 2)
}

test('one key marks both flights; typing is kept at once; undo and redo; nothing is lost when the program dies', async ({
  page,
  home,
  crash,
}) => {
  await sideBySide(page)
  await pointAt(page, 0.5)
  await page.keyboard.press('m')
  await expect(strip(page)).toHaveCount(4)
  await expect(note(page)).toBeFocused()
  await page.keyboard.type('Rings after the stop')
  await panel(page).getByRole('button', { name: 'wash', exact: true }).click()
  await note(page).press('Escape')
  await expect(note(page)).not.toBeFocused()
  await expect(strip(page).filter({ hasText: 'wash' })).toHaveCount(3)

  await page.keyboard.press('Control+z')
  await expect(strip(page).filter({ hasText: 'wash' })).toHaveCount(1)
  await page.keyboard.press('Control+z')
  await expect(note(page)).toHaveValue('')
  await page.keyboard.press('Control+z')
  await expect(strip(page)).toHaveCount(2)
  for (let times = 0; times < 3; times++) await page.keyboard.press('Control+Shift+z')
  await expect(strip(page).filter({ hasText: 'wash' })).toHaveCount(3)

  await page.reload()
  await expect(strip(page)).toHaveCount(4, { timeout: 60_000 })
  await strip(page).filter({ hasText: 'wash' }).last().press('Enter')
  await expect(note(page)).toHaveValue('Rings after the stop')
  await page.keyboard.press('Delete')
  await page.keyboard.press('Home')
  await expect(strip(page)).toHaveCount(2)

  // Every key is on its way to the desk by itself, and what the desk answers is on the disk.
  const answered = (call: string) => page.waitForResponse(`**/desk/call/${call}`, { timeout: 10_000 })
  await pointAt(page, 0.3)
  await Promise.all([answered('moments.add'), page.keyboard.press('m')])
  await expect(note(page)).toBeFocused()
  for (const key of 'Gone') await Promise.all([answered('moments.edit'), page.keyboard.press(key)])
  await crash()
  const library = new Library(home)
  const request = {
    search: 'gone',
    craft: null,
    tag: null,
    stars: 0,
    flyAgain: false,
    sort: 'marked',
  } as const
  const { moments } = library.moments.page({ ...request, descending: true, offset: 0, limit: 10 })
  library.close()
  expect(moments.map(({ note }) => note)).toEqual(['Gone'])
  expect(moments[0]!.places).toHaveLength(2)
})

test('what was just marked is what undo takes back, though the desk has not kept it yet', async ({
  page,
}) => {
  await sideBySide(page)
  await pointAt(page, 0.5)
  // Both keys in one task: no answer of the desk comes between them.
  await page.evaluate(() => {
    for (const [key, ctrlKey] of [
      ['m', false],
      ['z', true],
    ] as const) {
      document.body.dispatchEvent(
        new KeyboardEvent('keydown', { key, ctrlKey, bubbles: true, cancelable: true }),
      )
    }
  })
  await expect(page.getByText('Undone: mark a moment.')).toBeVisible()
  await expect(strip(page)).toHaveCount(2)
  await page.keyboard.press('Control+Shift+z')
  await expect(strip(page)).toHaveCount(4)
  await page.keyboard.press('Control+z')
  await expect(strip(page)).toHaveCount(2)
})

test('keyboard alone: a span, one flight only, from one to the next', async ({ page }) => {
  await sideBySide(page)
  await page.keyboard.press('k')
  const title = page.locator('#measures-title')
  await expect(title).toHaveText(/visible 4\.0/)
  const pressed = strip(page).and(page.locator('[aria-pressed=true]'))
  await expect(pressed).toHaveAttribute('aria-label', /^A: bounce-back at \d/)
  const first = await pressed.getAttribute('aria-label')
  await page.keyboard.press('Shift+M')
  await page.keyboard.type('whole view')
  await page.keyboard.press('Escape')
  await expect(page.getByRole('button', { name: /^B: whole view at/ })).toBeVisible()
  await page.keyboard.press('Shift+A')
  await page.keyboard.press('Escape')
  await expect(page.getByRole('button', { name: /^A: moment at/ })).toBeVisible()
  await expect(page.getByRole('button', { name: /^B: moment at/ })).toHaveCount(0)
  await page.keyboard.press('Delete')
  await expect(page.getByRole('button', { name: /^A: moment at/ })).toHaveCount(0)
  await page.keyboard.press('Home')
  await page.keyboard.press('k')
  await page.keyboard.press('Shift+K')
  await expect(strip(page).and(page.locator('[aria-pressed=true]')).first()).toBeVisible()
  expect(first).toContain('bounce-back')
})

test('hostile words are shown as text, and a screen with moments has no accessibility fault', async ({
  page,
}) => {
  await sideBySide(page)
  await pointAt(page, 0.4)
  await page.keyboard.press('m')
  const hostile = '<img src=x onerror="document.title=1"> \u202egnp.exe =cmd|x'
  await note(page).fill(hostile)
  await page.getByRole('textbox', { name: 'A tag of your own' }).fill('<b>own</b>')
  await page.keyboard.press('Enter')
  await note(page).press('Escape')
  await expect(strip(page).filter({ hasText: '<b>own</b>' })).toHaveCount(2)
  await expect(note(page)).toHaveValue(hostile)
  await expect(page).toHaveTitle('Twopack')
  for (const theme of ['light', 'dark']) {
    await page.evaluate((name) => (document.documentElement.dataset['theme'] = name), theme)
    expect(await accessibilityFaults(page)).toEqual([])
  }
})
