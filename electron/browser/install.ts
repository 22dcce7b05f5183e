import { spawnSync } from 'node:child_process'

export interface Installer {
  /** What is about to be run, for the person who waits. */
  readonly sentence: string
  readonly command: string
  readonly args: readonly string[]
}

const APT_INSTALL = 'apt-get -o DPkg::Lock::Timeout=300 install -y --no-install-recommends'
/**
 * Debian's browser, a display for its windows where there is no screen, and a font to draw text with; then, where
 * this Debian has it, the browser without any window, which starts in half the time.
 */
const DEBIAN = [
  `apt-get update && ${APT_INSTALL} chromium xvfb fonts-dejavu-core`,
  `{ ${APT_INSTALL} chromium-headless-shell || echo 'Going on with Chromium alone.'; }`,
].join(' && ')

/** How a Chromium for the tests gets onto this machine: Debian's package where we may, else Playwright's own copy. */
export function chromiumInstaller(isRoot: boolean, hasApt: boolean): Installer {
  if (isRoot && hasApt) {
    return {
      sentence:
        'There is no Chromium for the tests: installing the Debian packages chromium, chromium-headless-shell, xvfb and fonts-dejavu-core.',
      command: 'sh',
      args: ['-c', DEBIAN],
    }
  }
  return {
    sentence: "There is no Chromium for the tests: fetching Playwright's own into the user's cache folder.",
    command: 'npx',
    args: ['playwright', 'install', 'chromium'],
  }
}

/** Runs the installer with its output shown. @throws Error when it fails. */
export function install({ sentence, command, args }: Installer): void {
  console.log(sentence)
  const { status, error } = spawnSync(command, args, {
    stdio: ['ignore', 'inherit', 'inherit'],
    env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
    // npx is a script of the shell's on Windows
    shell: process.platform === 'win32',
  })
  if (error) throw error
  if (status !== 0) throw new Error(`Installing Chromium failed: ${command} ended with ${status}.`)
}

export function isRoot(): boolean {
  return process.getuid?.() === 0
}

export function hasCommand(name: string): boolean {
  return spawnSync(name, ['--version'], { stdio: 'ignore' }).error === undefined
}
