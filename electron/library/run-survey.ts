import { Worker } from 'node:worker_threads'
import { Problem } from '../../workers/log/problems.ts'
import { workerEntry } from '../worker-entry.ts'
import type { SurveyedPart, SurveyOrder } from './survey.ts'
import type { SurveyReport } from './survey.worker.ts'

/**
 * Runs `surveyParts` in a thread of its own, so that a long log does not hold up the desk.
 * @throws Problem as `surveyParts` does, or cancelled
 */
export function runSurvey(order: SurveyOrder, signal?: AbortSignal): Promise<SurveyedPart[]> {
  const { promise, resolve, reject } = Promise.withResolvers<SurveyedPart[]>()
  const cancelled = (): void => reject(new Problem('cancelled', 'Cancelled.'))
  if (signal?.aborted) {
    cancelled()
    return promise
  }
  const worker = new Worker(workerEntry('survey.worker', import.meta.url), { workerData: order })
  let end = (): void => reject(new Problem('worker-died', 'Looking through a log ended without a result.'))
  const abort = (): void => {
    end = cancelled
    void worker.terminate()
  }
  signal?.addEventListener('abort', abort, { once: true })
  worker.on('message', (report: SurveyReport) => {
    end =
      report.kind === 'surveyed'
        ? () => resolve(report.parts)
        : () => reject(new Problem(report.code, report.message))
  })
  worker.on('error', (error) => (end = () => reject(error)))
  // Settled only when the thread is gone: then nobody reads the file any more.
  worker.on('exit', () => {
    signal?.removeEventListener('abort', abort)
    end()
  })
  return promise
}
