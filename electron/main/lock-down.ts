import { app, type Session } from 'electron'
import { SCHEME, SCHEME_ORIGIN } from '../host/scheme.ts'

/** The one thing that the window may ask of the system: putting the comparison picture on the clipboard. */
const PERMITTED = 'clipboard-sanitized-write'

/** Addresses that stay inside the program. */
const INSIDE = ['blob:', 'data:', 'devtools:']

/** No page but our own, no second window, no permission that isn't needed, nothing over the network. */
export function lockDown(session: Session): void {
  app.on('web-contents-created', (_event, contents) => {
    contents.setWindowOpenHandler(() => ({ action: 'deny' }))
    contents.on('will-frame-navigate', (event) => event.preventDefault())
    contents.on('will-attach-webview', (event) => event.preventDefault())
  })
  session.setPermissionRequestHandler((_contents, permission, answer) => answer(permission === PERMITTED))
  session.setPermissionCheckHandler((_contents, permission) => permission === PERMITTED)
  session.webRequest.onBeforeRequest(({ url }, answer) => answer({ cancel: !staysInside(url) }))
}

function staysInside(url: string): boolean {
  if (url.startsWith(`${SCHEME}:`)) return url.startsWith(`${SCHEME_ORIGIN}/`)
  return INSIDE.some((scheme) => url.startsWith(scheme))
}
