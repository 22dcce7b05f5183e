import type { Bulk, Desk } from '../desk/desk-types.ts'
import { DESK_CACHE_CONTROL, SECURITY_HEADERS } from './headers.ts'
import { routeOf, UNEXPECTED_LINE } from './routes.ts'
import { deskHeaders } from './send.ts'
import { readWindowFile } from './window-files.ts'

/** The scheme and the origin of the window in Electron. */
export const SCHEME = 'twopack'
export const SCHEME_ORIGIN = `${SCHEME}://app`

/**
 * Answers one request of the window's scheme, with the same layout and headers as the loopback host. There is no
 * token: nobody outside the process can ask by this scheme. Never rejects.
 */
export async function answerScheme(
  request: Request,
  desk: Desk,
  windowRoot: string,
  log: (line: string) => void,
): Promise<Response> {
  const url = new URL(request.url)
  if (url.host !== new URL(SCHEME_ORIGIN).host) return line(404, 'There is nothing at this address.')
  try {
    switch (routeOf(url.pathname)) {
      case 'desk': {
        const { status, headers, body } = await desk.handle(request)
        return new Response(body, { status, headers: pairs(deskHeaders(headers)) })
      }
      case 'bulk':
        return request.method === 'GET'
          ? bulkResponse(await desk.bulk(url.pathname + url.search, request.signal))
          : line(405, 'This address can only be read.')
      case 'window':
        return await windowResponse(request, windowRoot, url.pathname)
    }
  } catch (error) {
    log(`${request.method} ${url.pathname}: ${error instanceof Error ? error.stack : String(error)}`)
    return line(500, UNEXPECTED_LINE)
  }
}

async function windowResponse(request: Request, windowRoot: string, pathname: string): Promise<Response> {
  if (request.method !== 'GET' && request.method !== 'HEAD')
    return line(405, 'This address can only be read.')
  const file = await readWindowFile(windowRoot, pathname)
  if (!file) return line(404, 'There is nothing at this address.')
  const body = request.method === 'HEAD' ? null : new Uint8Array(file.bytes)
  return new Response(body, { headers: { ...file.headers } })
}

function bulkResponse(bulk: Bulk | null): Response {
  if (!bulk) return line(404, 'There is nothing at this address.')
  const left = [...bulk.parts]
  const body = new ReadableStream<Uint8Array>({
    pull(controller) {
      const part = left.shift()
      if (part) controller.enqueue(part)
      else controller.close()
    },
  })
  return new Response(body, {
    status: bulk.status,
    headers: {
      ...SECURITY_HEADERS,
      'cache-control': DESK_CACHE_CONTROL,
      'content-type': 'application/octet-stream',
      'content-length': String(bulk.byteLength),
    },
  })
}

function line(status: number, text: string): Response {
  return new Response(`${text}\n`, {
    status,
    headers: {
      ...SECURITY_HEADERS,
      'cache-control': 'no-store',
      'content-type': 'text/plain; charset=utf-8',
    },
  })
}

function pairs(headers: Record<string, string | string[]>): [string, string][] {
  return Object.entries(headers).map(([name, value]) => [
    name,
    Array.isArray(value) ? value.join(', ') : value,
  ])
}
