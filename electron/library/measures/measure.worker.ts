import { parentPort } from 'node:worker_threads'
import { isProblem, type ProblemCode } from '../../../workers/log/problems.ts'
import { measureStored, type MeasureOrder } from './measure-stored.ts'

/** What comes back for an order. Anything but a Problem is thrown and ends the thread. */
export type MeasureReply =
  | { readonly kind: 'measured'; readonly values: (number | null)[] }
  | { readonly kind: 'problem'; readonly code: ProblemCode; readonly message: string }

parentPort?.on('message', async (order: MeasureOrder) => {
  const reply = await measureStored(order).then(
    (values): MeasureReply => ({ kind: 'measured', values }),
    (error: unknown): MeasureReply => {
      if (!isProblem(error)) throw error
      return { kind: 'problem', code: error.code, message: error.message }
    },
  )
  parentPort?.postMessage(reply)
})
