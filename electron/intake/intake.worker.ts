import { parentPort } from 'node:worker_threads'
import { firstLook } from './first-look.ts'
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

async function work(job: Job): Promise<Report> {
  if (job.kind === 'hash') {
    return { kind: 'result', result: await hashFile(job.path, job.fileName, onProgress, stop) }
  }
  if (job.kind === 'inspect') {
    return { kind: 'result', result: (await firstLook(job.path, job.fileName, stop)).inspection }
  }
  return { kind: 'result', result: await readWhole(job, onProgress, stop) }
}

parentPort?.on('message', (job: Job) => {
  work(job).catch(reportOf).then(send)
})
