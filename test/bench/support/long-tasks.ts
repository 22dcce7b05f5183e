import type { Page } from '@playwright/test'

/** What the main thread of the window did while something went on. */
export interface MainThread {
  /** From the beginning to the end of it, ms. */
  readonly took_ms: number
  /** The longest task that the main thread had, ms; 50 at most when the browser reported none. */
  readonly longest_ms: number
  /** Tasks over 50 ms. */
  readonly over50: number
}

/** Watches for tasks over 50 ms by the browser's own observer (W3C, Long Tasks API); before the page's first script. */
export async function watchLongTasks(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const tasks: { startTime: number; duration: number }[] = []
    Object.assign(globalThis, { longTasks: tasks })
    new PerformanceObserver((list) => {
      for (const { startTime, duration } of list.getEntries()) tasks.push({ startTime, duration })
    }).observe({ type: 'longtask', buffered: true })
  })
}

/** Runs something in the window and says what the main thread did meanwhile. */
export async function mainThreadDuring(page: Page, work: () => Promise<void>): Promise<MainThread> {
  const from_ms = await page.evaluate(() => performance.now())
  await work()
  const to_ms = await page.evaluate(() => performance.now())
  // The observer reports a task after it has ended.
  await page.waitForTimeout(150)
  const found = await page.evaluate(
    ([from, to]) =>
      (globalThis as unknown as { longTasks: { startTime: number; duration: number }[] }).longTasks
        .filter(({ startTime, duration }) => startTime + duration > from! && startTime < to!)
        .map(({ duration }) => duration),
    [from_ms, to_ms],
  )
  return { took_ms: to_ms - from_ms, longest_ms: Math.max(0, ...found), over50: found.length }
}
