import { createServer, type IncomingMessage, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import type { Desk } from './desk/desk-types.ts'
import { newSecret, refusalOf, refusalOfFirst, sameSecret, type Asked, type Rules } from './host/guard.ts'
import { SECURITY_HEADERS } from './host/headers.ts'
import { incomingBody, smallBody, type IncomingBody } from './host/request-body.ts'
import { isUpload, limitOf_bytes, routeOf, UNEXPECTED_LINE } from './host/routes.ts'
import { sendBulk, sendLine, sendResponse } from './host/send.ts'
import { readWindowFile } from './host/window-files.ts'

export interface LoopbackOptions {
  readonly desk: Desk
  /** The folder of the built window. */
  readonly windowRoot: string
  /** 0, the default, takes a free port. */
  readonly port?: number
  /** Where unexpected errors go; standard error by default. */
  readonly log?: (line: string) => void
}

/**
 * 'once': the address lets one window in, for a browser whose command line other users of the machine could read.
 * 'again': it works while the program runs, for an address that is printed to be opened by hand.
 */
export type AddressUse = 'once' | 'again'

export interface Loopback {
  readonly origin: string
  /** A new first address, with a token of its own. */
  address(use: AddressUse): string
  /** Resolves when a window has been here, and then nobody was connected for so long. */
  deserted(quiet_ms: number): Promise<void>
  /** Stops serving and cuts the connections; the desk is left to its owner. */
  close(): Promise<void>
}

/**
 * Serves the window and the desk on 127.0.0.1, to this launch's own window only.
 * @throws the system's error when the port is taken.
 */
export async function startLoopback(options: LoopbackOptions): Promise<Loopback> {
  const { desk, windowRoot } = options
  const log = options.log ?? console.error
  const cookieSecret = newSecret()
  const tokens = new Map<string, AddressUse>()
  let rules: Rules | null = null
  let connections = 0
  const comings = new EventTarget()

  // A big log on a slow disk takes as long as it takes; only the headers are bounded.
  const server = createServer({ requestTimeout: 0 }, (request, response) => {
    answer(request, response).catch((error: unknown) => {
      log(`${request.method} ${pathOnly(request)}: ${error instanceof Error ? error.stack : String(error)}`)
      if (response.headersSent) response.destroy()
      else sendLine(response, 500, UNEXPECTED_LINE)
    })
  })

  server.on('connection', (socket) => {
    connections++
    comings.dispatchEvent(new Event('came'))
    socket.once('close', () => {
      if (--connections === 0) comings.dispatchEvent(new Event('empty'))
    })
  })

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    if (!rules) throw new Error('a request came before the port was known')
    const url = ownUrl(request, rules.origin)
    if (!url) return sendLine(response, 400, 'This address is not served here.')
    const asked: Asked = { method: request.method ?? '', pathname: url.pathname, headers: request.headers }
    const given = asked.method === 'GET' && url.pathname === '/' ? url.searchParams.get('token') : null
    if (given !== null) return exchange(given, asked, response, rules)
    const refusal = refusalOf(asked, rules)
    if (refusal) return sendLine(response, refusal.status, refusal.line)
    switch (routeOf(url.pathname)) {
      case 'desk':
        return answerDesk(request, response, url)
      case 'bulk':
        return answerBulk(request, response, url)
      case 'window':
        return answerWindow(asked, response)
    }
  }

  /** The token of the first address becomes a cookie, and the address a clean one. */
  function exchange(given: string, asked: Asked, response: ServerResponse, rules: Rules): void {
    const refusal = refusalOfFirst(asked, rules)
    if (refusal) return sendLine(response, refusal.status, refusal.line)
    const token = [...tokens.keys()].find((token) => sameSecret(given, token))
    const mayEnter = token !== undefined
    const isInside = refusalOf(asked, rules) === null // a reload of the first address
    if (!mayEnter && !isInside) {
      return sendLine(
        response,
        403,
        'This address is not valid (any more); open the one the program printed last.',
      )
    }
    if (token !== undefined && tokens.get(token) === 'once') tokens.delete(token)
    response.writeHead(303, {
      ...SECURITY_HEADERS,
      'cache-control': 'no-store',
      ...(mayEnter && {
        'set-cookie': `${rules.cookieName}=${cookieSecret}; Path=/; HttpOnly; SameSite=Strict`,
      }),
      location: '/',
      'content-length': 0,
    })
    response.end()
  }

  async function answerWindow(asked: Asked, response: ServerResponse): Promise<void> {
    if (asked.method !== 'GET' && asked.method !== 'HEAD') {
      return sendLine(response, 405, 'This address can only be read.')
    }
    const file = await readWindowFile(windowRoot, asked.pathname)
    if (!file) return sendLine(response, 404, 'There is nothing at this address.')
    response.writeHead(200, { ...file.headers, 'content-length': file.bytes.byteLength })
    response.end(file.bytes)
  }

  async function answerBulk(request: IncomingMessage, response: ServerResponse, url: URL): Promise<void> {
    if (request.method !== 'GET') return sendLine(response, 405, 'This address can only be read.')
    const bulk = await desk.bulk(url.pathname + url.search, goneSignal(response))
    if (response.destroyed) return
    if (!bulk) return sendLine(response, 404, 'There is nothing at this address.')
    sendBulk(response, bulk)
  }

  async function answerDesk(request: IncomingMessage, response: ServerResponse, url: URL): Promise<void> {
    const signal = goneSignal(response)
    const method = request.method ?? ''
    let upload: IncomingBody | null = null
    let body: BodyInit | null = null
    if (isUpload(method, url.pathname, request.headers['content-type'])) {
      upload = incomingBody(request)
      body = upload.stream
    } else if (method !== 'GET' && method !== 'HEAD') {
      const small = await smallBody(request, limitOf_bytes(url.pathname)).catch((error: unknown) => {
        if (signal.aborted) return undefined // nobody is left to answer
        throw error
      })
      if (small === undefined) return
      if (small === null)
        return sendLine(response, 413, 'The request is larger than any call of this program.')
      body = new Uint8Array(small)
    }
    const init: RequestInit & { duplex: 'half' } = {
      method,
      headers: forDesk(request),
      body,
      signal,
      duplex: 'half',
    }
    try {
      await sendResponse(response, await desk.handle(new Request(url, init)), signal)
    } catch (error) {
      if (!signal.aborted) throw error
    } finally {
      upload?.discard()
    }
  }

  await new Promise<void>((resolve, reject) => {
    server.once('error', reject)
    server.listen(options.port ?? 0, '127.0.0.1', resolve)
  })
  const { port } = server.address() as AddressInfo
  const { host, origin } = new URL(`http://127.0.0.1:${port}`) // as a browser writes it: port 80 is left out
  // Cookies don't know ports: the name keeps two programs on this machine apart.
  rules = { host, origin, cookieName: `twopack-${port}`, cookieSecret }

  return {
    origin,
    address(use) {
      const token = newSecret()
      tokens.set(token, use)
      return `${origin}/?token=${token}`
    },
    deserted: (quiet_ms) =>
      new Promise((resolve) => {
        let timer: NodeJS.Timeout | undefined
        comings.addEventListener('empty', () => (timer = setTimeout(resolve, quiet_ms)))
        comings.addEventListener('came', () => clearTimeout(timer))
      }),
    close: () =>
      new Promise((resolve, reject) => {
        server.close((error) => (error ? reject(error) : resolve()))
        server.closeAllConnections()
      }),
  }
}

/** The address asked for on our own origin; null for anything but a plain path ("//other/" names another host). */
function ownUrl(request: IncomingMessage, origin: string): URL | null {
  const path = request.url ?? ''
  if (!path.startsWith('/')) return null
  return URL.canParse(origin + path) ? new URL(origin + path) : null
}

/** Without the search part, which may hold the token. */
function pathOnly(request: IncomingMessage): string {
  return (request.url ?? '').split('?', 1)[0] ?? ''
}

/** Aborted when the connection closes before the answer is out. */
function goneSignal(response: ServerResponse): AbortSignal {
  const gone = new AbortController()
  response.once('close', () => {
    if (!response.writableFinished) gone.abort()
  })
  return gone.signal
}

/** The request's headers without the launch's secret. */
function forDesk(request: IncomingMessage): Headers {
  const headers = new Headers()
  for (const [name, value] of Object.entries(request.headers)) {
    if (name === 'cookie' || value === undefined) continue
    headers.set(name, Array.isArray(value) ? value.join(', ') : value)
  }
  return headers
}
