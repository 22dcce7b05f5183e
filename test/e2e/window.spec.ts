/** The window as a whole: menu, palette, shortcuts of one's own, undo, and how it is all there again. */
import type { Page } from '@playwright/test'
import { rmSync } from 'node:fs'
import { join } from 'node:path'
import { accessibilityFaults } from './support/axe.ts'
import { chooseAndCompare, waitForNumbers } from './support/job.ts'
import { expect, test } from './support/program.ts'

test.use({ demo: true, shares: 'the demo' })
test.slow()

const ROWS = 'tbody tr:has(th[scope=row])'

async function names(page: Page): Promise<string[]> {
  await expect(page.locator(ROWS)).toHaveCount(5, { timeout: 120_000 })
  return page.locator(`${ROWS} th strong`).allTextContents()
}

const palette = (page: Page) => page.getByRole('dialog', { name: 'Commands and flights' })

test('the palette finds commands by a few letters, says what is missing, and goes to flights by name', async ({
  page,
}) => {
  const [first, second] = await names(page)
  await page.keyboard.press('Control+k')
  const field = palette(page).getByRole('combobox')
  await expect(field).toBeFocused()
  await field.fill('verdict')
  const option = palette(page).getByRole('option', { name: /Go to the verdict/ })
  await expect(option).toHaveAttribute('aria-disabled', 'true')
  await expect(option).toContainText('Choose flight A and flight B in the logbook first.')
  await field.press('Enter')
  await expect(palette(page)).toBeVisible()

  await field.fill('thmdrk')
  await expect(palette(page).getByRole('option').first()).toContainText('Theme: dark')
  await field.press('Enter')
  await expect(palette(page)).toBeHidden()
  await expect(page.locator('html')).toHaveAttribute('data-theme', 'dark')

  // A flight: shown in the logbook; taken as A or B without leaving the keys.
  await page.keyboard.press('Control+k')
  await field.fill(first!)
  const flight = palette(page).getByRole('option', { name: new RegExp(`Flight ${first}`) })
  await expect(flight).toBeVisible()
  while ((await flight.getAttribute('aria-selected')) !== 'true') await field.press('ArrowDown')
  await field.press('Alt+a')
  await field.press('Enter')
  await expect(page.locator(`${ROWS}:focus th strong`)).toHaveText(first!)
  await expect(page.getByRole('button', { name: `Take ${first} as A, before` })).toHaveAttribute(
    'aria-pressed',
    'true',
  )
  // It opens while a field is typed into, too.
  await page.getByRole('searchbox', { name: 'Search flights' }).fill(second!)
  await page.keyboard.press('Control+k')
  await expect(palette(page)).toBeVisible()
  expect(await accessibilityFaults(page)).toEqual([])
})

test('a palette opened right after a command stays open', async ({ page }) => {
  await names(page)
  await page.keyboard.press('Control+k')
  await palette(page).getByRole('combobox').fill('thmdrk')
  await expect(palette(page).getByRole('option').first()).toContainText('Theme: dark')
  // Both keys before the browser has told that the first palette closed.
  await page.evaluate(async () => {
    const press = (key: string, ctrlKey: boolean) =>
      (document.activeElement ?? document.body).dispatchEvent(
        new KeyboardEvent('keydown', { key, ctrlKey, bubbles: true, cancelable: true }),
      )
    press('Enter', false)
    for (let turn = 0; turn < 20; turn++) await Promise.resolve()
    press('k', true)
  })
  await expect(palette(page)).toBeVisible()
  await page.evaluate(() => new Promise((done) => setTimeout(done, 200)))
  await expect(palette(page).getByRole('combobox')).toBeFocused()
})

test('a key pressed right after a dialog closed is heard, one pressed within it is not', async ({ page }) => {
  await names(page)
  await page.keyboard.press('?')
  const keys = page.getByRole('dialog', { name: 'Keys' })
  await keys.getByRole('button', { name: 'Close' }).focus()
  await page.keyboard.press('Control+k')
  await expect(keys).toBeVisible()
  await expect(page.getByRole('dialog')).toHaveCount(1)
  // Before the next frame the focus is still on what was pressed in it.
  await keys.evaluate((dialog: HTMLDialogElement) => {
    const button = dialog.querySelector('button')!
    dialog.close()
    button.dispatchEvent(
      new KeyboardEvent('keydown', { key: 'k', ctrlKey: true, bubbles: true, cancelable: true }),
    )
  })
  await expect(keys).toBeHidden()
  await expect(palette(page)).toBeVisible()
})

test('the menu holds every command of the screen, by key alone', async ({ page }) => {
  await names(page)
  const opener = page.getByRole('button', { name: /^Menu/ })
  await opener.focus()
  await page.keyboard.press('Enter')
  const menu = page.getByRole('menu', { name: 'Menu' })
  await expect(
    menu.getByRole('group', { name: 'Screens' }).getByRole('menuitemcheckbox').first(),
  ).toBeFocused()
  await expect(menu.getByRole('menuitem', { name: 'Add logs…' })).toBeVisible()
  await expect(menu.getByRole('menuitemcheckbox', { name: /^Go to frequency/ })).toHaveAttribute(
    'aria-disabled',
    'true',
  )
  expect(await accessibilityFaults(page)).toEqual([])
  await page.keyboard.press('ArrowRight')
  await expect(menu.getByRole('group', { name: 'Changes' }).getByRole('menuitem').first()).toBeFocused()
  for (const key of ['s', 's']) await page.keyboard.press(key)
  await page.keyboard.press('Escape')
  await expect(menu).toBeHidden()
  await expect(opener).toBeFocused()
  await page.keyboard.press('Enter')
  await menu.getByRole('menuitemcheckbox', { name: 'Group by craft', exact: true }).click()
  await expect(menu).toBeHidden()
  await expect(page.getByLabel('Group by')).toHaveValue('craft')
})

test('a shortcut can be changed, clashes are told, and it is kept', async ({ page }) => {
  await names(page)
  await page.keyboard.press('?')
  const dialog = page.getByRole('dialog', { name: 'Keys' })
  const change = (name: string) => dialog.getByRole('button', { name: `Change the keys of ${name}` })
  await change('Theme: dark').click()
  await page.keyboard.press('Tab')
  await change('Theme: dark').click()
  await page.keyboard.press('Control+w')
  await expect(dialog.getByRole('alert')).toContainText('Ctrl+W belongs to the window')
  await page.keyboard.press('Alt+1')
  await expect(dialog.getByText('Alt+1 does "Go to the logbook" already.')).toBeVisible()
  await dialog.getByRole('button', { name: 'Leave it' }).click()
  await change('Theme: dark').click()
  await page.keyboard.press('d')
  await expect(dialog.getByRole('status')).toHaveText('Done: D for "Theme: dark".')
  expect(await accessibilityFaults(page)).toEqual([])
  await page.keyboard.press('Escape')
  await page.keyboard.press('d')
  await expect(page.locator('html')).toHaveAttribute('data-theme', 'dark')

  await page.reload()
  await names(page)
  await page.keyboard.press('?')
  await change('Theme: light').click()
  await page.keyboard.press('d')
  await dialog.getByRole('button', { name: 'Take it from there' }).click()
  await expect(dialog.getByRole('button', { name: 'Put the keys of Theme: light back' })).toBeVisible()
  await page.keyboard.press('Escape')
  await page.keyboard.press('d')
  await expect(page.locator('html')).toHaveAttribute('data-theme', 'light')
  await page.keyboard.press('?')
  await dialog.getByRole('button', { name: 'Put all keys back' }).click()
  await expect(dialog.getByRole('button', { name: 'Put all keys back' })).toBeDisabled()
  await page.keyboard.press('Escape')
  await page.keyboard.press('Control+z')
  await expect(page.getByText('Undone: all keys as they come.')).toBeVisible()
})

test('the list by key: lines, folding, choosing, details', async ({ page }) => {
  const [first, second] = await names(page)
  await page.keyboard.press('ArrowDown')
  await expect(page.locator(`${ROWS}:focus th strong`)).toHaveText(first!)
  await page.keyboard.press('a')
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('b')
  await expect(page.getByRole('button', { name: 'See side by side' })).toBeEnabled()
  await page.keyboard.press('Enter')
  const details = page.getByRole('dialog', { name: second! })
  await expect(details).toBeVisible()
  await page.keyboard.press('Escape')
  await page.keyboard.press('End')
  await expect(page.locator(ROWS).last()).toBeFocused()
  await page.keyboard.press('Shift+ArrowLeft')
  await expect(page.locator(ROWS)).toHaveCount(0)
  await expect(page.locator('tr.group').first()).toBeVisible()
  await page.keyboard.press('Shift+ArrowRight')
  await expect(page.locator(ROWS)).toHaveCount(5)
  await page.keyboard.press('/')
  await expect(page.getByRole('searchbox', { name: 'Search flights' })).toBeFocused()
})

test('choices and the theme can be undone and redone; the buttons say what', async ({ page }) => {
  const [first] = await names(page)
  const take = page.getByRole('button', { name: `Take ${first} as A, before` })
  const undo = page.getByRole('button', { name: /^Undo/ })
  await expect(undo).toBeDisabled()
  await take.click()
  await page.getByRole('button', { name: 'Undo: choose flight A' }).click()
  await expect(take).toHaveAttribute('aria-pressed', 'false')
  await expect(page.getByText('Undone: choose flight A.')).toBeVisible()
  await page.keyboard.press('Control+y')
  await expect(take).toHaveAttribute('aria-pressed', 'true')
})

test.describe('with flights of its own', () => {
  test.use({ shares: '' })
  test('what is changed of a flight can be undone, removing too; what fails says why and can be passed over', async ({
    page,
    home,
    faults,
  }) => {
    const [first, second] = await names(page)
    const row = (name: string) => page.locator(ROWS).filter({ has: page.getByText(name, { exact: true }) })
    await page.getByRole('button', { name: `Details of ${first}` }).click()
    const dialog = page.getByRole('dialog')
    await dialog.getByLabel('Name').fill('Renamed')
    await dialog.getByLabel('Note').fill('gusty')
    await dialog.getByRole('button', { name: 'Keep changes' }).click()
    await expect(row('Renamed')).toContainText('gusty')
    await page.getByRole('button', { name: `Undo: change name, note of "${first}"` }).click()
    await expect(row(first!)).not.toContainText('gusty')
    await page.keyboard.press('Control+Shift+z')
    await expect(row('Renamed')).toContainText('gusty')

    await page.getByRole('button', { name: `Take ${second} as B, after` }).click()
    await row(second!).focus()
    await page.keyboard.press('Delete')
    await expect(page.locator(ROWS)).toHaveCount(4)
    await expect(page.getByText(`Removed from the logbook: ${second}.`)).toBeVisible()
    await page.getByRole('button', { name: 'Bring it back' }).click()
    await expect(page.getByRole('button', { name: `Take ${second} as B, after` })).toHaveAttribute(
      'aria-pressed',
      'true',
    )

    // Its samples are gone: it can't come back, and that is said.
    await row(second!).focus()
    await page.keyboard.press('Delete')
    await expect(page.locator(ROWS)).toHaveCount(4)
    rmSync(join(home, 'columns'), { recursive: true })
    await page.keyboard.press('Control+z')
    await expect(
      page.getByText(/Not undone: remove .* can no longer be brought back; please add its log again/),
    ).toBeVisible()
    // The browser notes the desk's answer as an error; it is the one that was asked for.
    faults.length = 0
    await page.getByRole('button', { name: 'Leave it as it is' }).click()
    await expect(page.getByRole('button', { name: 'Undo: choose flight B' })).toBeEnabled()
  })
})

test('a pair opens again as it was left, also after another was looked at', async ({ page }) => {
  const [first, second, third] = await names(page)
  await chooseAndCompare(page, first!, second!)
  await waitForNumbers(page)
  const shown = page.getByRole('img', { name: /^Overview of both flights/ })
  const whole = await shown.getAttribute('aria-label')
  await page.keyboard.press('+')
  await page.keyboard.press('+')
  await page.keyboard.press('ArrowRight')
  await page.keyboard.press('1')
  await page.keyboard.press('.')
  await page.keyboard.press('o')
  await page.getByRole('button', { name: 'Rows', exact: true }).click()
  await page.getByRole('checkbox', { name: 'motors' }).check()
  await expect(shown).not.toHaveAttribute('aria-label', whole!)
  const left = {
    view: await shown.getAttribute('aria-label'),
    cursor: await page.getByTestId('cursor-time').textContent(),
    offset: await page.getByTestId('offset').textContent(),
  }
  const isAsLeft = async () => {
    await waitForNumbers(page)
    await expect(shown).toHaveAttribute('aria-label', left.view!)
    await expect(page.getByTestId('cursor-time')).toHaveText(left.cursor!)
    await expect(page.getByTestId('offset')).toHaveText(left.offset!)
    await expect(page.getByRole('button', { name: 'Beside' })).toHaveAttribute('aria-pressed', 'true')
    await expect(page.getByRole('img', { name: /^Motors/ }).first()).toBeVisible()
  }
  // At once: what has not been written yet must not be lost with the window.
  await page.reload()
  await isAsLeft()
  await page.getByRole('button', { name: 'Logbook', exact: true }).click()
  await page.getByRole('button', { name: `Take ${third} as B, after` }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await waitForNumbers(page)
  await expect(page.getByRole('button', { name: 'Overlaid' })).toHaveAttribute('aria-pressed', 'true')
  await page.getByRole('button', { name: 'Logbook', exact: true }).click()
  await page.getByRole('button', { name: `Take ${second} as B, after` }).click()
  await page.getByRole('button', { name: 'See side by side' }).click()
  await isAsLeft()
})
