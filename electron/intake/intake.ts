import { rm } from 'node:fs/promises'
import { basename } from 'node:path'
import { Worker } from 'node:worker_threads'
import type { Assignment } from '../../workers/columns/roles.ts'
import type { Inspection, ReadLog } from '../../workers/log/log.ts'
import { Problem } from '../../workers/log/problems.ts'
import { publishColumnFile } from './column-writer.ts'
import { thrownBy, type Job, type Report } from './messages.ts'
import type { Progress } from './read-whole.ts'

export type { Progress } from './read-whole.ts'
export { readColumn, readColumnValues } from './column-file.ts'

export interface IntakeOptions {
  /** The name to use in sentences and results; the path's last part unless given. */
  readonly fileName?: string
  readonly signal?: AbortSignal
  readonly onProgress?: (progress: Progress) => void
}

export interface ReadOptions extends IntakeOptions {
  /** Final path of the column file; it appears there only when the whole log has been read. */
  readonly columnFile: string
  /** The pilot's or an earlier choice, used as it is instead of the program's own. */
  readonly assignments?: readonly Assignment[]
  /** The file's SHA-256 where it is known and the file can't have changed since: it is then not computed again. */
  readonly contentHash?: string
}

/**
 * First look at a log: how it is written, what its columns mean. Stores nothing.
 * A log without a time column is not refused here, so that the pilot can point to one; a notice says so.
 * @throws Problem when the file can't be read as a log, or `cancelled`
 */
export async function inspectLog(path: string, options: IntakeOptions = {}): Promise<Inspection> {
  const fileName = options.fileName ?? basename(path)
  return (await run({ kind: 'inspect', path, fileName }, options)) as Inspection
}

/**
 * Reads a whole log in a thread of its own: its columns into `columnFile`, everything else into the result.
 * Leaves nothing behind when it fails or is cancelled.
 * @throws Problem when the file can't be read as a log or stored, or `cancelled`
 */
export async function readLog(path: string, options: ReadOptions): Promise<ReadLog> {
  const fileName = options.fileName ?? basename(path)
  const { columnFile, assignments = null, contentHash = null } = options
  const temporary = `${columnFile}.${process.pid}-${(started += 1)}.part`
  try {
    const job: Job = { kind: 'read', path, fileName, temporary, assignments, contentHash }
    const log = (await run(job, options)) as ReadLog
    await publishColumnFile(temporary, columnFile)
    return log
  } finally {
    // Only there when the reading failed or was cancelled: otherwise it has its final name.
    await rm(temporary, { force: true })
  }
}
let started = 0

/** SHA-256 of a file as it lies on the disk, hexadecimal: equal to the `contentHash` of its reading. */
export async function contentHash(path: string, options: IntakeOptions = {}): Promise<string> {
  return (await run({ kind: 'hash', path, fileName: options.fileName ?? basename(path) }, options)) as string
}

/** The worker's entry: beside this file as source, in the same folder under the built name when bundled. */
function workerEntry(): URL {
  const extension = import.meta.url.endsWith('.ts') ? 'ts' : 'js'
  return new URL(`./intake.worker.${extension}`, import.meta.url)
}

/** A thread that has done its job and waits for the next: starting one takes longer than looking at a log. */
let idle: Worker | null = null

function takeWorker(): Worker {
  const waiting = idle
  idle = null
  if (waiting) {
    waiting.ref()
    return waiting
  }
  // Flags of this process are not the thread's business; a small nursery keeps its memory small.
  const worker = new Worker(workerEntry(), { execArgv: [], resourceLimits: { maxYoungGenerationSizeMb: 2 } })
  worker.on('exit', () => {
    if (idle === worker) idle = null
  })
  return worker
}

function giveBack(worker: Worker): void {
  if (idle) void worker.terminate()
  else {
    idle = worker
    // A waiting thread must not keep the process alive.
    worker.unref()
  }
}

function run(job: Job, { signal, onProgress }: IntakeOptions): Promise<Inspection | ReadLog | string> {
  const { promise, resolve, reject } = Promise.withResolvers<Inspection | ReadLog | string>()
  if (signal?.aborted) return Promise.reject(cancelled(job.fileName))
  const worker = takeWorker()
  let failure: Error | null = null
  const abort = (): void => {
    failure = cancelled(job.fileName)
    void worker.terminate()
  }
  const onMessage = (report: Report): void => {
    // What arrives after a cancellation is void: the thread is being ended.
    if (failure) return
    if (report.kind === 'progress') {
      onProgress?.({ phase: report.phase, done: report.done })
      return
    }
    letGo()
    giveBack(worker)
    if (report.kind === 'result') resolve(report.result)
    else reject(thrownBy(report))
  }
  const onError = (error: unknown): void => {
    failure ??= error instanceof Error ? error : new Error(String(error))
  }
  // A thread that failed or was ended settles only when it is gone: then nobody writes to the file any more.
  const onExit = (code: number): void => {
    letGo()
    const { fileName } = job
    const message = `Reading ${fileName} ended without a result (code ${code}).`
    reject(failure ?? new Problem('worker-died', message, { file: fileName }))
  }
  const letGo = (): void => {
    signal?.removeEventListener('abort', abort)
    worker.off('message', onMessage).off('error', onError).off('exit', onExit)
  }
  signal?.addEventListener('abort', abort, { once: true })
  worker.on('message', onMessage).on('error', onError).on('exit', onExit)
  worker.postMessage(job)
  return promise
}

function cancelled(file: string): Problem {
  return new Problem('cancelled', `Reading ${file} was cancelled.`, { file })
}
