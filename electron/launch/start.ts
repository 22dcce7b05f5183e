import { join, resolve } from 'node:path'
import { ensureBuilt, MAIN, WINDOW } from '../build.ts'
import { dataFolder } from '../home.ts'
import { hasDisplay } from './display.ts'
import { obtainElectron, runElectron } from './electron-host.ts'
import { runLoopback } from './loopback-host.ts'
import { parseStart, USAGE, UsageError, type StartOptions } from './options.ts'

const PROJECT = resolve(import.meta.dirname, '../..')
const say = (line: string) => console.log(line)

/** Opens the program in the best window that this machine has; resolves to the exit code when it has ended. */
export async function start(args: readonly string[]): Promise<number> {
  let options: StartOptions
  try {
    // npm changes into the project's folder; the pilot's relative paths are from where npm was called.
    options = parseStart(args, process.env['INIT_CWD'] ?? process.cwd())
  } catch (error) {
    if (!(error instanceof UsageError)) throw error
    console.error(error.message)
    return 2
  }
  if (options.help) {
    say(USAGE)
    return 0
  }
  const home = options.home ?? dataFolder()
  const display = hasDisplay({ env: process.env, platform: process.platform })
  if (options.window === 'auto' && display) {
    const electron = await obtainElectron(join(PROJECT, 'node_modules', 'electron'), home, say)
    if (electron) {
      await ensureBuilt([WINDOW, MAIN], say)
      const code = await runElectron(electron, PROJECT, { ...options, home })
      if (code !== null) return code
      say('Electron could not start here, so the program runs without it.')
    }
  }
  await ensureBuilt([WINDOW], say)
  return runLoopback({
    home,
    windowRoot: join(PROJECT, WINDOW.out),
    port: options.port,
    files: options.files,
    openWindow: options.window !== 'none' && display,
    demo: options.demo,
    say,
  })
}
