import { cpSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { ensureBuilt, WINDOW } from '../../../electron/build.ts'

const PROJECT = resolve(import.meta.dirname, '../../..')

/**
 * Builds the window where it is stale, and gives this run a copy of its own: a build by somebody else in the same
 * folder must not change the window under a running test. Returns what tidies up.
 */
export default async function takeSnapshot(): Promise<() => void> {
  await ensureBuilt([WINDOW], console.log)
  const folder = mkdtempSync(join(tmpdir(), 'twopack-window-'))
  cpSync(join(PROJECT, WINDOW.out), folder, { recursive: true })
  process.env['TWOPACK_TEST_WINDOW'] = folder
  return () => rmSync(folder, { recursive: true, force: true })
}
