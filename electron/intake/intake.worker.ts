import { stat } from 'node:fs/promises'
import { parentPort } from 'node:worker_threads'
import { firstLook, type FirstLook } from './first-look.ts'
import { hashFile } from './hash-file.ts'
import { reportOf, type Job, type Report } from './messages.ts'
import { readWhole, type Progress } from './read-whole.ts'

const send = (report: Report): void => parentPort?.postMessage(report)

const PROGRESS_MS = 50
let lastProgress = 0
const onProgress = (progress: Progress): void => {
  const now = performance.now()
  if (now - lastProgress < PROGRESS_MS && progress.done < 1) return
  lastProgress = now
  send({ kind: 'progress', ...progress })
}
// The owner ends this thread to stop it; there is nothing to ask between slices.
const stop = (): void => undefined

/** The look at the file that was inspected last: most are read next, and need no second one. */
let looked: { readonly state: string; readonly look: FirstLook } | null = null

/** Names a file as it is now; '' when it can't be read, which the look says better. */
async function stateOf({ path, fileName }: Job): Promise<string> {
  const found = await stat(path, { bigint: true }).catch(() => null)
  return found ? [path, fileName, found.ino, found.size, found.mtimeNs].join('\n') : ''
}

async function work(job: Job): Promise<Report> {
  if (job.kind === 'hash') {
    return { kind: 'result', result: await hashFile(job.path, job.fileName, onProgress, stop) }
  }
  if (job.kind === 'inspect') {
    const state = await stateOf(job)
    const look = await firstLook(job.path, job.fileName, stop)
    looked = { state, look }
    return { kind: 'result', result: look.inspection }
  }
  const known = looked?.state === (await stateOf(job)) ? looked.look : null
  looked = null
  return { kind: 'result', result: await readWhole(job, onProgress, stop, known) }
}

parentPort?.on('message', (job: Job) => {
  work(job).catch(reportOf).then(send)
})
