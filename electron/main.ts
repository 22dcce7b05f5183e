/**
 * The Electron main process: the window's scheme in front of the desk, one locked-down window, and a clean end.
 * Everything that can be told without Electron lies in host/ and main/window-state.ts, where it is tested.
 */
import { app, BrowserWindow, dialog, protocol, screen, session } from 'electron'
import { join } from 'node:path'
import { createDesk } from './desk/desk.ts'
import type { Desk } from './desk/desk-types.ts'
import { dataFolder } from './home.ts'
import { openHash } from './host/routes.ts'
import { answerScheme, SCHEME, SCHEME_ORIGIN } from './host/scheme.ts'
import { HomeFault, lockHome } from './launch/home-lock.ts'
import { parseStart } from './launch/options.ts'
import { lockDown } from './main/lock-down.ts'
import { setMenu } from './main/menu.ts'
import { LEAST, placeWindow, readWindowState, writeWindowState } from './main/window-state.ts'

protocol.registerSchemesAsPrivileged([
  {
    scheme: SCHEME,
    privileges: { standard: true, secure: true, supportFetchAPI: true, stream: true, codeCache: true },
  },
])

const options = parseStart(ownArguments(), process.cwd(), 'ignore')
const home = options.home ?? dataFolder()
const windowRoot = join(import.meta.dirname, '..', 'renderer')
const files = [...options.files]
let window: BrowserWindow | null = null

// The runtime's own files go with the logbook, and the lock below is one per logbook.
app.setPath('userData', join(home, 'electron'))
app.on('open-file', (event, path) => {
  event.preventDefault()
  show([path])
})
app.on('second-instance', (_event, _argv, _folder, data) => show((data as { files: string[] }).files))
app.on('window-all-closed', () => app.quit())

// Not awaited: the runtime is ready only after this module has been loaded to its end.
if (app.requestSingleInstanceLock({ files })) run().catch(giveUp)
else app.quit()

async function run(): Promise<void> {
  await app.whenReady()
  let lock: ReturnType<typeof lockHome>
  try {
    lock = lockHome(home)
  } catch (error) {
    if (!(error instanceof HomeFault)) throw error
    dialog.showErrorBox(app.name, error.message)
    app.exit(2)
    return
  }
  const desk = await createDesk({ home, demo: options.demo })
  lockDown(session.defaultSession)
  protocol.handle(SCHEME, (request) => answerScheme(request, desk, windowRoot, console.error))
  setMenu()
  closeBeforeQuitting(desk, lock)
  window = openWindow()
  show(files)
}

function giveUp(error: unknown): void {
  console.error(error)
  dialog.showErrorBox(app.name, error instanceof Error ? error.message : String(error))
  app.exit(1)
}

function openWindow(): BrowserWindow {
  const kept = join(home, 'window.json')
  const state = readWindowState(kept)
  const opened = new BrowserWindow({
    ...placeWindow(
      state,
      screen.getAllDisplays().map((display) => display.workArea),
    ),
    minWidth: LEAST.width,
    minHeight: LEAST.height,
    show: false,
    webPreferences: {
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      webviewTag: false,
      // Its dictionaries would be fetched from the network.
      spellcheck: false,
    },
  })
  if (state?.maximized) opened.maximize()
  opened.once('ready-to-show', () => opened.show())
  opened.on('close', () => {
    writeWindowState(kept, { bounds: opened.getNormalBounds(), maximized: opened.isMaximized() })
  })
  opened.once('closed', () => (window = null))
  return opened
}

/** Brings the window to the front with these log files to open; the window watches its address for them. */
function show(opened: readonly string[]): void {
  if (!window) {
    files.push(...opened) // asked before the window was there: run() shows them
    return
  }
  const shown = window.webContents.getURL() !== ''
  if (!shown || opened.length > 0) {
    window.loadURL(`${SCHEME_ORIGIN}/${openHash(opened)}`).catch((error: unknown) => console.error(error))
  }
  if (!shown) return
  if (window.isMinimized()) window.restore()
  window.focus()
}

function closeBeforeQuitting(desk: Desk, lock: ReturnType<typeof lockHome>): void {
  let closing = false
  app.on('will-quit', (event) => {
    event.preventDefault()
    if (closing) return
    closing = true
    desk
      .close()
      .then(() => 0)
      .catch((error: unknown) => {
        console.error(error)
        return 1
      })
      .then((code) => {
        lock.release()
        app.exit(code)
      })
  })
}

/** What was given to us: after the program's folder where the bare runtime is started, else all but the binary. */
function ownArguments(): string[] {
  return process.argv.slice(app.isPackaged ? 1 : process.argv.indexOf(app.getAppPath()) + 1)
}
