import { findChromium, WrongBrowser } from '../browser/find.ts'
import { createDesk } from '../desk/desk.ts'
import { openHash } from '../host/routes.ts'
import { startLoopback } from '../loopback.ts'
import { openAppWindow, type AppWindow } from './app-window.ts'
import { HomeFault, lockHome } from './home-lock.ts'

export interface LoopbackHostOptions {
  readonly home: string
  readonly windowRoot: string
  readonly port: number
  readonly files: readonly string[]
  readonly openWindow: boolean
  readonly demo: boolean
  readonly say: (line: string) => void
}

/** A browser that ends with a fault this soon never showed a window. */
const OPENING_MS = 5000

/** A window that is open holds a connection all the time; a reload lets go of it for a moment only. */
const DESERTED_MS = 4000

/** How long the desk may take to finish what it is at, once the program is asked to end. */
const CLOSING_MS = 5000

/** Serves the program by the loopback host until its window closes or the process is asked to end; the exit code. */
export async function runLoopback(options: LoopbackHostOptions): Promise<number> {
  const { home, say } = options
  let browser: string | null
  let lock: ReturnType<typeof lockHome>
  try {
    browser = options.openWindow ? findChromium() : null
    lock = lockHome(home)
  } catch (error) {
    if (!(error instanceof HomeFault) && !(error instanceof WrongBrowser)) throw error
    console.error(error.message)
    return 2
  }
  const asked = askedToEnd()
  const desk = await createDesk({ home, demo: options.demo })
  const host = await startLoopback({
    desk,
    windowRoot: options.windowRoot,
    port: options.port,
  }).catch(async (error: unknown) => {
    await desk.close()
    lock.release()
    if (!isPortTaken(error)) throw error
    console.error(
      `Port ${options.port} is taken by another program; choose another by --port, or leave it out.`,
    )
    return null
  })
  if (!host) return 2

  let window: AppWindow | null = null
  let code = 0
  try {
    if (browser) {
      const opened_ms = performance.now()
      window = openAppWindow(browser, host.address('once') + openHash(options.files), home)
      say('The program is open in its own browser window; it ends when you close that, or by Ctrl-C here.')
      const ends = [window.closed, asked.then(() => 0)]
      // On macOS a browser lives on without windows, so there the window's silence is what tells.
      if (process.platform === 'darwin') ends.push(host.deserted(DESERTED_MS).then(() => 0))
      const ended = await Promise.race(ends)
      const neverOpened = ended !== 0 && performance.now() - opened_ms < OPENING_MS
      if (!neverOpened) return (code = ended ?? 1)
      say(`The browser ${browser} could not open a window.`)
    } else if (options.openWindow) {
      say('There is no Chromium, Chrome or Edge on this machine to open a window with.')
    }
    say(
      `Open this address in a browser on this machine; Ctrl-C here ends the program:\n${host.address('again')}${openHash(options.files)}`,
    )
    await asked
  } finally {
    // Whatever hangs, the program ends: everything on disk is safe at every moment.
    setTimeout(() => process.exit(code || 1), CLOSING_MS).unref()
    await window?.close()
    await host.close()
    await desk.close()
    lock.release()
  }
  return code
}

/** Resolves at the first signal that asks for an end. Later ones change nothing: npm passes Ctrl-C on a second time. */
function askedToEnd(): Promise<void> {
  return new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => resolve())
  })
}

function isPortTaken(error: unknown): boolean {
  return error instanceof Error && 'code' in error && (error.code === 'EADDRINUSE' || error.code === 'EACCES')
}
