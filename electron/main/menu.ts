import { app, Menu, type MenuItemConstructorOptions } from 'electron'

/** The platform's own menu, made of roles only: everything particular to this program is in the window. */
export function setMenu(): void {
  const view: MenuItemConstructorOptions = {
    label: 'View',
    submenu: [
      { role: 'resetZoom' },
      { role: 'zoomIn' },
      { role: 'zoomOut' },
      { type: 'separator' },
      { role: 'togglefullscreen' },
      ...(app.isPackaged ? [] : ([{ role: 'reload' }, { role: 'toggleDevTools' }] as const)),
    ],
  }
  Menu.setApplicationMenu(
    Menu.buildFromTemplate([
      ...(process.platform === 'darwin' ? ([{ role: 'appMenu' }] as const) : []),
      { role: 'fileMenu' },
      { role: 'editMenu' },
      view,
      { role: 'windowMenu' },
    ]),
  )
}
