/** Folders: dropped, picked and watched; all levels, with what is no log told. */
import type { Page } from '@playwright/test'
import { mkdirSync, mkdtempSync, renameSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { accessibilityFaults } from './support/axe.ts'
import { expect, test as base } from './support/program.ts'

const test = base.extend<{ card: string }>({
  card: async ({}, use) => {
    const root = mkdtempSync(join(tmpdir(), 'twopack-card-'))
    const card = join(root, 'card')
    mkdirSync(join(card, 'Lantern', 'day 2'), { recursive: true })
    put(join(card, 'Lantern', 'one.csv'), log(1))
    put(join(card, 'Lantern', 'day 2', '2025-05-02 two.csv'), log(2))
    put(join(card, 'readme.txt'), 'Nothing to see here.\n')
    put(join(card, 'picture.png'), 'x')
    await use(card)
    rmSync(root, { recursive: true, force: true })
  },
})

function log(seed: number): string {
  const rows = Array.from(
    { length: 300 },
    (_, row) => `${row / 100},${(40 * Math.sin(row / 9 + seed)).toFixed(3)}`,
  )
  return `time (s),gyro roll (deg/s)\n${rows.join('\n')}\n`
}

/** Writes a file as if a minute ago: younger ones may still be written, and are waited for. */
function put(path: string, text: string): void {
  writeFileSync(path, text)
  const at = Date.now() / 1000 - 60
  utimesSync(path, at, at)
}

const flights = (page: Page) => page.locator('tbody th[scope=row] strong')
const noFaults = async (page: Page) => expect(await accessibilityFaults(page)).toEqual([])

test('a picked folder comes in whole; its files that are no logs are told', async ({ page, card }) => {
  await page.getByLabel('Folder of logs').setInputFiles(card)
  const folder = page.getByRole('article', { name: 'Folder card' })
  await expect(folder).toContainText('2 flights added.')
  await expect(flights(page)).toHaveText(['2025-05-02 two', 'one'])
  await expect(page.getByRole('rowheader', { name: /Lantern/ })).toBeVisible()
  await folder.getByText('1 file could not be taken as a log').click()
  await expect(folder.getByRole('listitem')).toContainText('readme.txt')
  await noFaults(page)
  await folder.getByRole('button', { name: 'Close card' }).click()
  await page.getByLabel('Folder of logs').setInputFiles(card)
  await expect(folder).toContainText('0 flights added, 2 files known already.')
})

test('a dropped folder is read all levels deep, and an unreadable one is told', async ({ page }) => {
  await page.evaluate(
    ([one, two]) => {
      // A script can't make real folder entries: these stand in for what the browser gives.
      type Inside = Record<string, unknown>
      const entry = (path: string, inside: string | Inside | null): object => {
        const name = path.split('/').at(-1)!
        if (typeof inside === 'string') {
          return {
            name,
            fullPath: path,
            isFile: true,
            isDirectory: false,
            file: (ok: (file: File) => void) => ok(new File([inside], name)),
          }
        }
        const children = Object.entries(inside ?? {}).map(([child, what]) =>
          entry(`${path}/${child}`, what as string | Inside | null),
        )
        return {
          name,
          fullPath: path,
          isFile: false,
          isDirectory: true,
          createReader: () => {
            // Handed out one by one, as a browser hands out a hundred at a time.
            const left = [...children]
            return {
              readEntries: (ok: (some: object[]) => void, failed: (error: DOMException) => void) =>
                inside === null ? failed(new DOMException('no', 'NotReadableError')) : ok(left.splice(0, 1)),
            }
          },
        }
      }
      const root = entry('/pack-3', {
        'one.csv': one!,
        '.hidden.csv': 'x',
        deep: { deeper: { 'two.csv': two! } },
        locked: null,
      })
      DataTransferItem.prototype.webkitGetAsEntry = () => root as FileSystemEntry
      const transfer = new DataTransfer()
      transfer.items.add(new File([''], 'pack-3'))
      document
        .querySelector('section.logbook')!
        .dispatchEvent(new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: transfer }))
    },
    [log(1), log(2)],
  )
  const folder = page.getByRole('article', { name: 'Folder pack-3' })
  await expect(folder).toContainText('2 flights added.')
  await expect(flights(page)).toHaveText(['two', 'one'])
  await folder.getByText('1 file could not be taken as a log').click()
  await expect(folder.getByRole('listitem')).toHaveText('pack-3/locked can’t be read.')
})

test('a watched folder brings its logs in, hears of new ones, and shows what is missing', async ({
  page,
  card,
  faults,
}) => {
  test.slow()
  await page.getByRole('button', { name: 'Watched folders…' }).click()
  const dialog = page.getByRole('dialog', { name: 'Watched folders' })
  await dialog.getByLabel('Folder').fill(join(card, 'none'))
  await dialog.getByRole('button', { name: 'Watch it' }).click()
  await expect(dialog.getByRole('alert')).toContainText('can’t be read')
  // The browser notes that the desk refused: asked for here.
  faults.length = 0
  await dialog.getByLabel('Folder').fill(card)
  await page.keyboard.press('Enter')
  const watched = dialog.getByRole('listitem', { name: card })
  await expect(watched).toContainText('watched; 2 logs')
  await expect(watched).toContainText('1 file could not be taken as a log')
  await noFaults(page)
  await page.keyboard.press('Escape')
  await expect(flights(page)).toHaveText(['2025-05-02 two', 'one'])

  put(join(card, 'Lantern', 'three.csv'), log(3))
  await expect(flights(page)).toHaveCount(3, { timeout: 30_000 })
  renameSync(join(card, 'Lantern', 'one.csv'), join(card, '..', 'away.csv'))
  await expect(page.getByRole('rowheader', { name: /one.*log not found/ })).toBeVisible({ timeout: 30_000 })
  renameSync(join(card, '..', 'away.csv'), join(card, 'back.csv'))
  await expect(page.getByText('log not found')).toBeHidden({ timeout: 30_000 })

  await page.reload()
  await page.getByRole('button', { name: 'Watched folders…' }).click()
  await watched.getByRole('button', { name: 'Watch no more' }).click()
  await expect(dialog).toContainText('No folder is watched.')
  await page.keyboard.press('Escape')
  await expect(flights(page)).toHaveCount(3)
})
