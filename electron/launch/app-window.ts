import { spawn, type ChildProcess } from 'node:child_process'
import { mkdirSync, readdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { isRoot } from '../browser/install.ts'

/** A browser window that shows nothing but the program. */
export interface AppWindow {
  /** Resolves when the window was closed, with the browser's exit code (null when a signal ended it). */
  readonly closed: Promise<number | null>
  /** Closes it and waits until its processes are gone and its profile is removed. */
  close(): Promise<void>
}

const PROFILE = /^browser-(\d+)$/
/** How long a browser may take to end when asked, before it is made to. */
const PATIENCE_MS = 3000

/**
 * Opens `url` in an app window of the browser at `executable`, with a profile of its own in the data folder that
 * lives as long as the window. `TWOPACK_CHROMIUM_FLAGS` may add flags, separated by spaces.
 */
export function openAppWindow(executable: string, url: string, home: string): AppWindow {
  removeLeftProfiles(home)
  const profile = join(home, `browser-${process.pid}`)
  mkdirSync(profile, { recursive: true })
  const child = spawn(executable, appWindowFlags(url, profile, process.env, isRoot()), {
    stdio: 'ignore',
    // A group of its own, so that every process of the browser can be ended together.
    detached: process.platform !== 'win32',
  })
  const closed = new Promise<number | null>((resolve, reject) => {
    child.once('error', reject)
    child.once('exit', (code) => resolve(code))
  })
  const done = closed.finally(() => removeProfile(profile))
  return {
    closed: done,
    async close() {
      const force = setTimeout(() => endGroup(child, 'SIGKILL'), PATIENCE_MS)
      endGroup(child, 'SIGTERM')
      await done
      clearTimeout(force)
    },
  }
}

/** The browser's command line: an app window, and nothing that talks to the network on its own account. */
export function appWindowFlags(
  url: string,
  profile: string,
  env: Readonly<Record<string, string | undefined>>,
  asRoot: boolean,
): string[] {
  return [
    `--app=${url}`,
    `--user-data-dir=${profile}`,
    '--class=Twopack',
    // The smallest screen that the window is made for; a desktop's window manager makes it fill larger ones.
    '--window-position=0,0',
    '--window-size=1280,720',
    '--start-maximized',
    '--no-first-run',
    '--no-default-browser-check',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-default-apps',
    '--disable-domain-reliability',
    '--disable-extensions',
    '--disable-features=Translate,OptimizationHints,MediaRouter,AutofillServerCommunication',
    '--disable-sync',
    '--metrics-recording-only',
    '--no-pings',
    '--password-store=basic',
    '--use-mock-keychain',
    // The browser's own sandbox can't be set up for root; --test-type only hides the banner that says so.
    ...(asRoot ? ['--no-sandbox', '--test-type'] : []),
    ...(env['TWOPACK_CHROMIUM_FLAGS'] ?? '').split(/\s+/).filter((flag) => flag !== ''),
  ]
}

function endGroup(child: ChildProcess, signal: NodeJS.Signals): void {
  if (child.pid === undefined || child.exitCode !== null || child.signalCode !== null) return
  if (process.platform === 'win32') child.kill(signal)
  else process.kill(-child.pid, signal)
}

/** Profiles of runs that were killed before they could tidy up. */
function removeLeftProfiles(home: string): void {
  for (const name of readdirSync(home)) {
    const pid = PROFILE.exec(name)?.[1]
    if (pid !== undefined && !isAlive(Number(pid))) removeProfile(join(home, name))
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    return error instanceof Error && 'code' in error && error.code === 'EPERM'
  }
}

function removeProfile(profile: string): void {
  // The browser's helpers may still be writing for a moment after it is gone.
  rmSync(profile, { recursive: true, force: true, maxRetries: 10, retryDelay: 100 })
}
