import { existsSync, readFileSync, writeFileSync } from 'node:fs'

export interface Area {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** Where the window was when it was closed. */
export interface WindowState {
  readonly bounds: Area
  readonly maximized: boolean
}

/** The smallest window that everything fits in. */
export const LEAST = { width: 1024, height: 640 }
const USUAL = { width: 1360, height: 860 }
/** So much of the window must be on a screen for it to be found and moved. */
const VISIBLE_PX = 100

/** The kept state; null when there is none or the file holds something else. */
export function readWindowState(path: string): WindowState | null {
  if (!existsSync(path)) return null
  let kept: unknown
  try {
    kept = JSON.parse(readFileSync(path, 'utf8'))
  } catch {
    return null // half-written or not ours: the window opens where it usually does
  }
  return isState(kept) ? kept : null
}

export function writeWindowState(path: string, state: WindowState): void {
  writeFileSync(path, JSON.stringify(state))
}

/** Size, and position where the kept one is still on a screen (`screens` are their work areas, in pixels). */
export function placeWindow(kept: WindowState | null, screens: readonly Area[]): Partial<Area> {
  if (!kept) return USUAL
  const width = Math.max(LEAST.width, kept.bounds.width)
  const height = Math.max(LEAST.height, kept.bounds.height)
  const { x, y } = kept.bounds
  const reachable = screens.some(
    (screen) =>
      x + width >= screen.x + VISIBLE_PX &&
      x <= screen.x + screen.width - VISIBLE_PX &&
      y >= screen.y &&
      y <= screen.y + screen.height - VISIBLE_PX,
  )
  return reachable ? { x, y, width, height } : { width, height }
}

function isState(value: unknown): value is WindowState {
  if (typeof value !== 'object' || value === null) return false
  const { bounds, maximized } = value as { bounds?: Partial<Area>; maximized?: unknown }
  return (
    typeof maximized === 'boolean' &&
    [bounds?.x, bounds?.y, bounds?.width, bounds?.height].every((number) => Number.isInteger(number))
  )
}
