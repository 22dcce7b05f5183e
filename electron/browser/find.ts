import { spawnSync } from 'node:child_process'
import { accessSync, constants, statSync } from 'node:fs'
import { delimiter, join } from 'node:path'

export interface Machine {
  readonly env: Readonly<Record<string, string | undefined>>
  readonly platform: NodeJS.Platform
}

/** The environment names a browser that isn't there; the message is one plain sentence. */
export class WrongBrowser extends Error {}

/** Commands of Chromium and of browsers built on it, the plain one first. */
const COMMANDS = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'microsoft-edge']

/**
 * A browser of the Chromium family on this machine: the one that TWOPACK_CHROMIUM or CHROMIUM_PATH names, one on
 * the PATH, one in the platform's usual place, or else one of `others` (paths that may not exist). Null when
 * there is none.
 * @throws WrongBrowser when the environment names one that isn't there: a wrong setting should be seen, not stepped over.
 */
export function findChromium(
  others: readonly string[] = [],
  machine: Machine = { env: process.env, platform: process.platform },
): string | null {
  for (const name of ['TWOPACK_CHROMIUM', 'CHROMIUM_PATH']) {
    const named = machine.env[name]
    if (!named) continue
    if (!isProgram(named))
      throw new WrongBrowser(`${name} names ${named}, which is not a program on this machine.`)
    return named
  }
  return (
    [...onPath(COMMANDS, machine), ...usualPlaces(machine), ...others].find((path) =>
      starts(path, machine),
    ) ?? null
  )
}

/** The path of a browser's command that is on the PATH and starts; null when there is none. */
export function findCommand(
  command: string,
  machine: Machine = { env: process.env, platform: process.platform },
): string | null {
  return onPath([command], machine).find((path) => starts(path, machine)) ?? null
}

function onPath(commands: readonly string[], { env, platform }: Machine): string[] {
  if (platform === 'win32') return [] // browsers don't put themselves on the PATH there
  const folders = (env['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '')
  return commands.flatMap((command) => folders.map((folder) => join(folder, command)))
}

function usualPlaces({ env, platform }: Machine): string[] {
  if (platform === 'darwin') {
    return ['Chromium', 'Google Chrome', 'Microsoft Edge'].map(
      (name) => `/Applications/${name}.app/Contents/MacOS/${name}`,
    )
  }
  if (platform !== 'win32') return []
  const roots = ['PROGRAMFILES', 'PROGRAMFILES(X86)', 'LOCALAPPDATA'].map((name) => env[name])
  return ['Google\\Chrome\\Application\\chrome.exe', 'Microsoft\\Edge\\Application\\msedge.exe'].flatMap(
    (path) => roots.filter((root) => root !== undefined).map((root) => `${root}\\${path}`),
  )
}

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK)
    return statSync(path).isFile()
  } catch {
    return false // absent or not ours to run: either way not a browser for us
  }
}

/** Some systems have a script in the browser's place that only says how to install it: ask for the version. */
function starts(path: string, { platform }: Machine): boolean {
  if (!isProgram(path)) return false
  if (platform === 'win32') return true // there the question would open a window
  return spawnSync(path, ['--version', '--no-sandbox'], { stdio: 'ignore', timeout: 10_000 }).status === 0
}
