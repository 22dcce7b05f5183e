import type { ServerResponse } from 'node:http'
import type { Bulk } from '../desk/desk-types.ts'
import { DESK_CACHE_CONTROL, SECURITY_HEADERS } from './headers.ts'

/** Headers about one connection; they are Node's business, not the desk's. */
const CONNECTION_HEADERS = new Set(['connection', 'keep-alive', 'transfer-encoding', 'upgrade'])

/** One plain sentence as the whole answer. */
export function sendLine(response: ServerResponse, status: number, line: string): void {
  const bytes = Buffer.from(`${line}\n`)
  response.writeHead(status, {
    ...SECURITY_HEADERS,
    'cache-control': 'no-store',
    'content-type': 'text/plain; charset=utf-8',
    'content-length': bytes.byteLength,
  })
  response.end(bytes)
}

/** Writes columns straight to the socket: no copy, no stream object in between. */
export function sendBulk(response: ServerResponse, bulk: Bulk): void {
  response.writeHead(bulk.status, {
    ...SECURITY_HEADERS,
    'cache-control': DESK_CACHE_CONTROL,
    'content-type': 'application/octet-stream',
    'content-length': bulk.byteLength,
  })
  for (const part of bulk.parts) response.write(part)
  response.end()
}

/** The desk's headers with the host's own laid over them: the desk can't loosen what the window may do. */
export function deskHeaders(headers: Headers): Record<string, string | string[]> {
  const sent: Record<string, string | string[]> = { 'cache-control': DESK_CACHE_CONTROL }
  for (const [name, value] of headers) if (!CONNECTION_HEADERS.has(name)) sent[name] = value
  return { ...sent, ...SECURITY_HEADERS }
}

/**
 * Sends a Response. A long body is read no faster than the receiver takes it, and is cancelled when the receiver
 * goes away. A body that breaks half-way breaks the connection too: what arrived must not pass for the whole.
 */
export async function sendResponse(
  target: ServerResponse,
  response: Response,
  signal: AbortSignal,
): Promise<void> {
  target.writeHead(response.status, deskHeaders(response.headers))
  if (!response.body) {
    target.end()
    return
  }
  target.flushHeaders() // the first line of a long call may be a while away
  const reader = response.body.getReader()
  const cancel = () => void reader.cancel(signal.reason).catch(ignoreLateFailure)
  signal.addEventListener('abort', cancel, { once: true })
  try {
    if (signal.aborted) cancel()
    for (;;) {
      const { done, value } = await reader.read()
      if (done) break
      if (!target.write(value)) await drained(target)
    }
    target.end()
  } catch (error) {
    target.destroy()
    if (!signal.aborted) throw error
  } finally {
    signal.removeEventListener('abort', cancel)
  }
}

function drained(target: ServerResponse): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      target.off('drain', done)
      target.off('close', done)
      resolve()
    }
    target.once('drain', done)
    target.once('close', done)
    if (target.destroyed) done()
  })
}

/** The receiver is gone; what its stream's end had to say interests nobody any more. */
function ignoreLateFailure(): void {}
