import { execFileSync } from 'node:child_process'
import { cpSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { ensureBuilt, WINDOW } from '../../../electron/build.ts'

const PROJECT = resolve(import.meta.dirname, '../../..')

/**
 * Builds the window where it is stale, and gives this run a copy of its own: a build by somebody else in the same
 * folder must not change the window under a running test. Makes the demo flights once, for all tests that begin with
 * them. Returns what tidies up.
 */
export default async function takeSnapshot(): Promise<() => void> {
  await ensureBuilt([WINDOW], console.log)
  const folder = mkdtempSync(join(tmpdir(), 'twopack-window-'))
  cpSync(join(PROJECT, WINDOW.out), folder, { recursive: true })
  process.env['TWOPACK_TEST_WINDOW'] = folder
  const demo = mkdtempSync(join(tmpdir(), 'twopack-demo-'))
  const maker = [join(import.meta.dirname, 'make-demo-home.ts'), demo]
  execFileSync(process.execPath, ['--no-memory-protection-keys', ...maker], { stdio: 'inherit' })
  process.env['TWOPACK_TEST_DEMO'] = demo
  return () => {
    rmSync(folder, { recursive: true, force: true })
    rmSync(demo, { recursive: true, force: true })
  }
}
