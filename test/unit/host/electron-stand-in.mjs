/**
 * Stands in for Electron's module, so that the built main process can be run by Node: it records what is asked of
 * it and shows nothing. It knows only what main.ts uses. It proves nothing about Electron itself.
 */
import { EventEmitter } from 'node:events'
import { writeSync } from 'node:fs'

const tell = (what, value = null) => writeSync(1, `${JSON.stringify({ what, value })}\n`)

class Contents extends EventEmitter {
  url = ''
  getURL = () => this.url
  setWindowOpenHandler = (handler) => tell('window-open', handler({ url: 'https://example.org/' }))
}

export class BrowserWindow extends EventEmitter {
  webContents = new Contents()
  constructor(options) {
    super()
    tell('window', options)
    app.emit('web-contents-created', {}, this.webContents)
    let prevented = false
    this.webContents.emit('will-frame-navigate', { preventDefault: () => (prevented = true) })
    tell('navigation-prevented', prevented)
  }
  async loadURL(url) {
    this.webContents.url = url
    const answer = await handler(new Request(new URL(url).origin === 'null' ? url.split('#')[0] : url))
    tell('loaded', { url, status: answer.status, text: await answer.text() })
    this.emit('ready-to-show')
    process.stdin.on('data', async (line) => {
      const asked = String(line).trim()
      if (asked === 'close') return this.shut()
      const call = new Request(`twopack://app${asked}`, { method: 'POST', body: '{}' })
      tell('answer', await (await handler(call)).json())
    })
  }
  shut() {
    this.emit('close')
    this.emit('closed')
    app.emit('window-all-closed')
  }
  show = () => tell('shown')
  maximize() {}
  isMaximized = () => false
  isMinimized = () => false
  focus() {}
  getNormalBounds = () => ({ x: 1, y: 2, width: 1300, height: 800 })
}

let handler = null
export const protocol = {
  registerSchemesAsPrivileged: (schemes) => tell('schemes', schemes),
  handle: (scheme, answer) => {
    tell('handles', scheme)
    handler = answer
  },
}

export const app = Object.assign(new EventEmitter(), {
  name: 'Twopack',
  isPackaged: false,
  getAppPath: () => process.env.STAND_IN_APP_PATH,
  setPath: (name, path) => tell('path', [name, path]),
  requestSingleInstanceLock: () => true,
  whenReady: () => new Promise((resolve) => setImmediate(resolve)),
  quit: () => app.emit('will-quit', { preventDefault: () => tell('quit-held') }),
  exit: (code) => process.exit(code),
})

export const screen = { getAllDisplays: () => [{ workArea: { x: 0, y: 0, width: 1920, height: 1080 } }] }
export const dialog = { showErrorBox: (title, text) => tell('error-box', text) }
export const Menu = {
  buildFromTemplate: (items) => items,
  setApplicationMenu: (items) => tell('menu', items.length),
}
export const session = {
  defaultSession: {
    setPermissionRequestHandler: (decide) =>
      ['media', 'clipboard-read', 'clipboard-sanitized-write'].forEach((permission) =>
        decide({}, permission, (given) => tell('permission', [permission, given])),
      ),
    setPermissionCheckHandler: () => {},
    webRequest: {
      onBeforeRequest: (decide) =>
        ['https://example.org/', 'twopack://app/x', 'twopack://other/', 'blob:twopack://app/1'].forEach(
          (url) => decide({ url }, ({ cancel }) => tell('request', [url, cancel])),
        ),
    },
  },
}
