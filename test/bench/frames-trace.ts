/** What the browser's own tracing says of a stretch in which a view was moved. */
export interface FrameFigures {
  readonly frames: number
  /** Time from one drawn frame to the next. */
  readonly p50_ms: number
  readonly p95_ms: number
  readonly longest_ms: number
  readonly over50: number
  /** What the page's main thread worked per drawn frame. */
  readonly mainP50_ms: number
  readonly mainP95_ms: number
  /** The same without the time in which other threads had its core. */
  readonly processorP50_ms: number
  readonly processorP95_ms: number
  readonly longestTask_ms: number
}

interface TraceEvent {
  readonly name: string
  readonly ts: number
  readonly dur?: number
  /** Processor time of `dur`. */
  readonly tdur?: number
  readonly pid: number
  readonly tid: number
  readonly ph: string
  readonly args?: { readonly name?: string; readonly data?: { readonly message?: string } }
}

/** Categories that the figures need. */
export const TRACE_CATEGORIES = [
  'devtools.timeline',
  'disabled-by-default-devtools.timeline',
  'disabled-by-default-devtools.timeline.frame',
  'devtools.timeline.frame',
  'blink.user_timing',
  'toplevel',
]

/**
 * Figures between the user-timing marks `drive-begin` and `drive-end` of the page that set them. Frames are the
 * compositor's DrawFrame events of that page's process; work is the main thread's RunTask.
 * @throws Error when the marks are missing from the trace
 */
export function frameFigures(trace: Buffer): FrameFigures {
  const { traceEvents: events } = JSON.parse(trace.toString()) as { traceEvents: TraceEvent[] }
  const begin = events.findLast(({ name }) => name === 'drive-begin')
  const end = events.findLast(({ name }) => name === 'drive-end')
  if (!begin || !end) throw new Error('the trace lacks the marks of the drive')
  const within = events.filter(({ pid, ts }) => pid === begin.pid && ts >= begin.ts && ts <= end.ts)
  const drawn = within
    .filter(({ name }) => name === 'DrawFrame')
    .map(({ ts }) => ts)
    .sort((a, b) => a - b)
  const frames = drawn.length
  // What hardly draws at all took as long as the drive: its ends stand for the frames that are missing.
  if (frames < 3) {
    drawn.unshift(begin.ts)
    drawn.push(end.ts)
  }
  const intervals_ms = drawn.slice(1).map((ts, index) => (ts - drawn[index]!) / 1000)
  const tasks = within.filter(
    ({ name, tid, dur }) => name === 'RunTask' && tid === begin.tid && dur !== undefined,
  )
  const work_ms = new Array<number>(intervals_ms.length).fill(0)
  const processor_ms = work_ms.slice()
  let frame = 0
  for (const task of tasks.sort((a, b) => a.ts - b.ts)) {
    while (frame < work_ms.length - 1 && task.ts >= drawn[frame + 1]!) frame++
    if (task.ts < drawn[0]!) continue
    work_ms[frame]! += (task.dur ?? 0) / 1000
    processor_ms[frame]! += (task.tdur ?? 0) / 1000
  }
  const share = (values: readonly number[], at: number) =>
    [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(at * values.length))] ?? NaN
  return {
    frames,
    p50_ms: share(intervals_ms, 0.5),
    p95_ms: share(intervals_ms, 0.95),
    longest_ms: Math.max(...intervals_ms),
    over50: intervals_ms.filter((interval) => interval > 50).length,
    mainP50_ms: share(work_ms, 0.5),
    mainP95_ms: share(work_ms, 0.95),
    processorP50_ms: share(processor_ms, 0.5),
    processorP95_ms: share(processor_ms, 0.95),
    longestTask_ms: Math.max(0, ...tasks.map(({ dur = 0 }) => dur / 1000)),
  }
}
