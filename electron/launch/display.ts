import type { Machine } from '../browser/find.ts'

/** Whether a window can be shown: on Linux that takes an X or a Wayland display, elsewhere there is always one. */
export function hasDisplay({ env, platform }: Machine): boolean {
  if (platform === 'win32' || platform === 'darwin') return true
  return Boolean(env['DISPLAY'] || env['WAYLAND_DISPLAY'])
}
