import { spawn } from 'node:child_process'
import { isRoot } from '../browser/install.ts'
import { electronVersion, findElectron } from './electron-runtime.ts'
import { fetchRuntime } from './fetch-runtime.ts'

/** Electron's binary, fetched where it is missing; null, after one plain sentence, where it can't be had. */
export async function obtainElectron(
  folder: string,
  home: string,
  say: (line: string) => void,
): Promise<string | null> {
  const present = findElectron(folder)
  if (present) return present
  const version = electronVersion(folder)
  if (version === null) return null // installed without development packages: a browser it is
  switch (await fetchRuntime({ folder, version, home, say })) {
    case 'fetched':
      return findElectron(folder)
    case 'failed':
      say(
        'The Electron runtime could not be fetched, so the program runs without it; tomorrow it is tried again.',
      )
      return null
    case 'failed-before':
      say('The Electron runtime could not be fetched lately, so the program runs without it.')
      return null
  }
}

/** Ends this soon, and with a fault, only when it never got as far as a window. */
const START_MS = 3000

/** Runs the program in Electron until it ends; null when Electron itself did not come up. */
export function runElectron(
  binary: string,
  project: string,
  { home, files, demo }: { home: string; files: readonly string[]; demo: boolean },
): Promise<number | null> {
  const began = performance.now()
  const args = [
    ...(isRoot() ? ['--no-sandbox'] : []),
    project,
    '--home',
    home,
    ...(demo ? [] : ['--no-demo']),
    ...files,
  ]
  const child = spawn(binary, args, { stdio: 'inherit' })
  const stop = (signal: NodeJS.Signals) => child.kill(signal)
  process.on('SIGTERM', stop)
  // Ctrl-C reaches Electron by itself; here it must only not end this process first.
  process.on('SIGINT', ignoreSignal)
  return new Promise((resolve) => {
    const end = (code: number | null) => {
      process.off('SIGTERM', stop)
      process.off('SIGINT', ignoreSignal)
      resolve(code)
    }
    child.once('error', () => end(null))
    child.once('exit', (code) => {
      const failedToStart = code !== 0 && code !== 2 && performance.now() - began < START_MS
      end(failedToStart ? null : (code ?? 1))
    })
  })
}

function ignoreSignal(): void {}
