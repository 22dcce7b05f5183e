import { chromium } from '@playwright/test'
import { findChromium, findCommand } from '../electron/browser/find.ts'

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
  return findCommand(WINDOWLESS) ?? windowedBrowser()
}
