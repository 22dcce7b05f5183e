import { chromium } from '@playwright/test'
import { accessSync, constants } from 'node:fs'
import { delimiter, join } from 'node:path'
import { findChromium } from '../electron/browser/find.ts'

/** Debian's name for Chromium without any window: the same engine, but it starts in half the time. */
const WINDOWLESS = 'chromium-headless-shell'

/** A Chromium that can open windows; null when there is none. */
export const windowedBrowser = (): string | null => findChromium([chromium.executablePath()])

/**
 * The browser that the tests drive: the one that the environment names, else one without windows, else any Chromium;
 * null when there is none.
 */
export function testBrowser(): string | null {
  const { env } = process
  if (env['TWOPACK_CHROMIUM'] || env['CHROMIUM_PATH']) return windowedBrowser()
  return windowless() ?? windowedBrowser()
}

function windowless(): string | null {
  for (const folder of (process.env['PATH'] ?? '').split(delimiter)) {
    const path = join(folder, WINDOWLESS)
    try {
      accessSync(path, constants.X_OK)
      return path
    } catch {
      continue // not in this folder
    }
  }
  return null
}
