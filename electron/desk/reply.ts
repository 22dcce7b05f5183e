import * as v from 'valibot'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import type { StreamLine } from './contract/calls.ts'
import type { ProblemData, Progress } from './contract/schemas.ts'

/** The part of a Problem that crosses the boundary. */
export function problemData(problem: Problem): ProblemData {
  return { code: problem.code, message: problem.message, place: { ...problem.place } }
}

/** Checks what arrived. @throws Problem 'bad-request' naming the first thing that does not fit. */
export function parseArrival<T>(schema: v.GenericSchema<unknown, T>, value: unknown): T {
  const parsed = v.safeParse(schema, value)
  if (parsed.success) return parsed.output
  const issue = parsed.issues[0]
  throw new Problem('bad-request', `The request does not fit: ${v.getDotPath(issue) ?? ''} ${issue.message}`)
}

/** `{ok: true, value}`, or `{ok: false, problem}` with a fitting status. Anything unexpected is thrown on. */
export async function replyTo(work: () => unknown): Promise<Response> {
  try {
    return Response.json({ ok: true, value: await work() })
  } catch (error) {
    if (!isProblem(error)) throw error
    return Response.json({ ok: false, problem: problemData(error) }, { status: statusOf(error) })
  }
}

function statusOf(problem: Problem): number {
  if (problem.code === 'not-found') return 404
  if (problem.code === 'bad-request') return 400
  return 422
}

/**
 * A response of lines: `work` reports progress while it runs and its end is the last line. The work's signal
 * is aborted when the window goes away or cancels. Unexpected errors break the stream, after `log` has them.
 */
export function streamReply(
  request: Request,
  log: (line: string) => void,
  work: (signal: AbortSignal, report: (progress: Progress) => void) => Promise<unknown>,
): Response {
  const stop = new AbortController()
  request.signal.addEventListener('abort', () => stop.abort(), { once: true })
  const encoder = new TextEncoder()
  const body = new ReadableStream<Uint8Array>({
    async start(controller) {
      const write = (line: StreamLine) => {
        if (!stop.signal.aborted) controller.enqueue(encoder.encode(`${JSON.stringify(line)}\n`))
      }
      try {
        write({
          line: 'value',
          value: await work(stop.signal, (progress) => write({ line: 'progress', progress })),
        })
      } catch (error) {
        if (isProblem(error)) write({ line: 'problem', problem: problemData(error) })
        else if (!stop.signal.aborted) {
          log(error instanceof Error ? (error.stack ?? error.message) : String(error))
          controller.error(error)
          return
        }
      }
      if (!stop.signal.aborted) controller.close()
    },
    cancel() {
      stop.abort()
    },
  })
  return new Response(body, { headers: { 'content-type': 'application/x-ndjson' } })
}
