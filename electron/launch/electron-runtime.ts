import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'

/** Where Electron's binary lies inside its unpacked runtime. */
const BINARY: Partial<Record<NodeJS.Platform, string>> = {
  darwin: 'Electron.app/Contents/MacOS/Electron',
  win32: 'electron.exe',
  linux: 'electron',
  freebsd: 'electron',
}

/**
 * Electron's binary, or null when the runtime isn't there. Found by files only: asking the package itself would
 * start a download. `folder` is the package's; ELECTRON_OVERRIDE_DIST_PATH may name a runtime elsewhere.
 */
export function findElectron(
  folder: string,
  env: Readonly<Record<string, string | undefined>> = process.env,
  platform: NodeJS.Platform = process.platform,
): string | null {
  const elsewhere = env['ELECTRON_OVERRIDE_DIST_PATH']
  const binary = textOf(join(folder, 'path.txt')) ?? (elsewhere ? BINARY[platform] : undefined)
  if (!binary) return null
  const path = join(elsewhere ?? join(folder, 'dist'), binary)
  return existsSync(path) ? path : null
}

/** The version of the package, which is the one of the runtime it wants. */
export function electronVersion(folder: string): string | null {
  const text = textOf(join(folder, 'package.json'))
  return text === null ? null : String((JSON.parse(text) as { version?: unknown }).version)
}

function textOf(path: string): string | null {
  return existsSync(path) ? readFileSync(path, 'utf8') : null
}
