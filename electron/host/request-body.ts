import type { IncomingMessage } from 'node:http'

/** A request's bytes on their way in. */
export interface IncomingBody {
  readonly stream: ReadableStream<Uint8Array>
  /** Lets the rest of the body run into nothing, so that the connection can carry the next request. */
  discard(): void
}

/** What waits unread before the sender is held back. */
const WAITING_BYTES = 256 * 1024

/**
 * The body as a stream with back-pressure: while the reader is busy the socket is not read, and the sender waits.
 * The stream breaks when the sender goes away before the end.
 */
export function incomingBody(request: IncomingMessage): IncomingBody {
  let finish: ((how: (controller: ReadableStreamDefaultController<Uint8Array>) => void) => void) | null = null
  const drop = () => {
    request.removeAllListeners('data')
    request.resume()
  }
  const stream = new ReadableStream<Uint8Array>(
    {
      start(controller) {
        finish = (how) => {
          finish = null
          how(controller)
        }
        request.pause() // before the listener, which would start the flow
        request.on('data', (chunk: Buffer) => {
          controller.enqueue(chunk)
          if ((controller.desiredSize ?? 0) <= 0) request.pause()
        })
        request.once('end', () => finish?.((it) => it.close()))
        request.once('error', (error) => finish?.((it) => it.error(error)))
        request.once('close', () => finish?.((it) => it.error(new Error('the sender went away'))))
      },
      pull() {
        request.resume()
      },
      cancel() {
        finish = null
        drop()
      },
    },
    new ByteLengthQueuingStrategy({ highWaterMark: WAITING_BYTES }),
  )
  const discard = () => {
    // A reader that is still there must not wait for ever.
    finish?.((it) => it.error(new Error('the request was answered before its body was read')))
    drop()
  }
  return { stream, discard }
}

/** The whole body, or null when it is longer than `limit_bytes`. Rejects when the sender goes away. */
export async function smallBody(request: IncomingMessage, limit_bytes: number): Promise<Buffer | null> {
  if (Number(request.headers['content-length'] ?? 0) > limit_bytes) {
    request.resume()
    return null
  }
  const { stream } = incomingBody(request)
  const parts: Uint8Array[] = []
  let bytes = 0
  for await (const part of stream) {
    bytes += part.byteLength
    if (bytes > limit_bytes) return null // leaving the loop cancels the stream, and the rest runs into nothing
    parts.push(part)
  }
  return Buffer.concat(parts)
}
