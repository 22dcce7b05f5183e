import { parentPort, workerData } from 'node:worker_threads'
import { isProblem, type ProblemCode } from '../../workers/log/problems.ts'
import { surveyParts, type SurveyedPart, type SurveyOrder } from './survey.ts'

/** What comes back from the thread. Anything but a Problem is thrown and ends it. */
export type SurveyReport =
  | { readonly kind: 'surveyed'; readonly parts: SurveyedPart[] }
  | { readonly kind: 'problem'; readonly code: ProblemCode; readonly message: string }

const report = (answer: SurveyReport): void => parentPort?.postMessage(answer)

surveyParts(workerData as SurveyOrder).then(
  (parts) => report({ kind: 'surveyed', parts }),
  (error: unknown) => {
    if (!isProblem(error)) throw error
    report({ kind: 'problem', code: error.code, message: error.message })
  },
)
