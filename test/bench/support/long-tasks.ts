import type { Browser, Page } from '@playwright/test'

/** What the main thread of the window did while something went on. */
export interface MainThread {
  /** From the beginning to the end of it, ms. */
  readonly took_ms: number
  /** The longest task that the main thread had, ms; 50 at most when the browser reported none. */
  readonly longest_ms: number
  /** Tasks over 50 ms. */
  readonly over50: number
  /** Most processor time of a task, ms: without what other threads took of its core meanwhile. */
  readonly processor_ms: number
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
export async function mainThreadDuring(
  browser: Browser,
  page: Page,
  work: () => Promise<void>,
): Promise<MainThread> {
  await browser.startTracing(page, { categories: ['toplevel', 'blink.user_timing'] })
  const from_ms = await page.evaluate(() => performance.mark('work-begins').startTime)
  await work()
  const to_ms = await page.evaluate(() => performance.mark('work-ends').startTime)
  const processor_ms = mostProcessorTime(await browser.stopTracing())
  // The observer reports a task after it has ended.
  await page.waitForTimeout(150)
  const found = await page.evaluate(
    ([from, to]) =>
      (globalThis as unknown as { longTasks: { startTime: number; duration: number }[] }).longTasks
        .filter(({ startTime, duration }) => startTime + duration > from! && startTime < to!)
        .map(({ duration }) => duration),
    [from_ms, to_ms],
  )
  return { took_ms: to_ms - from_ms, longest_ms: Math.max(0, ...found), over50: found.length, processor_ms }
}

interface TraceEvent {
  readonly name: string
  readonly ts: number
  readonly pid: number
  readonly tid: number
  /** Processor time, microseconds. */
  readonly tdur?: number
}

/** Of the tasks between the two marks, on the thread that set them. */
function mostProcessorTime(trace: Buffer): number {
  const { traceEvents } = JSON.parse(trace.toString()) as { traceEvents: TraceEvent[] }
  const begin = traceEvents.findLast(({ name }) => name === 'work-begins')
  const end = traceEvents.findLast(({ name }) => name === 'work-ends')
  if (!begin || !end) throw new Error('the trace lacks the marks of the work')
  const tasks = traceEvents.filter(
    ({ name, pid, tid, ts }) =>
      name.endsWith('RunTask') && pid === begin.pid && tid === begin.tid && ts >= begin.ts && ts <= end.ts,
  )
  return Math.max(0, ...tasks.map(({ tdur = 0 }) => tdur / 1000))
}
