import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'
import type { IncomingHttpHeaders } from 'node:http'

/** A 256-bit secret, as text that needs no escaping in an address or a cookie. */
export function newSecret(): string {
  return randomBytes(32).toString('base64url')
}

/** Compares in a time that tells nothing about where the two differ, nor about their lengths. */
export function sameSecret(given: string, secret: string): boolean {
  return timingSafeEqual(digest(given), digest(secret))
}

function digest(text: string): Buffer {
  return createHash('sha256').update(text).digest()
}

export interface Asked {
  readonly method: string
  readonly pathname: string
  readonly headers: IncomingHttpHeaders
}

export interface Rules {
  /** `127.0.0.1:port`, just as the browser sends it. */
  readonly host: string
  /** `http://127.0.0.1:port` */
  readonly origin: string
  readonly cookieName: string
  readonly cookieSecret: string
}

export interface Refusal {
  readonly status: 403 | 405
  readonly line: string
}

const METHODS = new Set(['GET', 'HEAD', 'POST', 'PUT', 'PATCH', 'DELETE'])
const READING = new Set(['GET', 'HEAD'])

/**
 * Whether a request comes from our own window. Three independent walls: the Host header must be exactly ours
 * (a name that somebody else's DNS points at this machine is not), the request must come from our origin, and it
 * must carry this launch's cookie.
 */
export function refusalOf(asked: Asked, rules: Rules): Refusal | null {
  return (
    wrongHost(asked, rules) ?? wrongMethod(asked) ?? wrongOrigin(asked, rules) ?? wrongCookie(asked, rules)
  )
}

/** The walls that stand before the token of the first address is looked at: there is no cookie yet. */
export function refusalOfFirst(asked: Asked, rules: Rules): Refusal | null {
  return wrongHost(asked, rules) ?? wrongMethod(asked) ?? wrongOrigin(asked, rules)
}

function wrongHost({ headers }: Asked, rules: Rules): Refusal | null {
  return headers.host === rules.host ? null : { status: 403, line: 'This address is not served here.' }
}

function wrongMethod({ method }: Asked): Refusal | null {
  return METHODS.has(method) ? null : { status: 405, line: 'This method is not served here.' }
}

/**
 * Browsers send Origin with everything but plain reads, and Sec-Fetch-Site with everything. What was sent must
 * say "same origin"; a request that sends neither proves nothing. Only opening the page itself is a navigation,
 * which has no origin.
 */
function wrongOrigin({ method, pathname, headers }: Asked, rules: Rules): Refusal | null {
  const refusal: Refusal = { status: 403, line: 'Only this program\u2019s own window is served here.' }
  const { origin } = headers
  const site = headers['sec-fetch-site']
  if (origin !== undefined && origin !== rules.origin) return refusal
  const opensThePage = method === 'GET' && pathname === '/'
  if (site !== undefined && site !== 'same-origin' && !(opensThePage && site === 'none')) return refusal
  if (opensThePage) return null
  if (!READING.has(method) && origin === undefined) return refusal
  return origin === undefined && site === undefined ? refusal : null
}

function wrongCookie({ headers }: Asked, rules: Rules): Refusal | null {
  const given = cookieValue(headers.cookie ?? '', rules.cookieName)
  if (given !== null && sameSecret(given, rules.cookieSecret)) return null
  return {
    status: 403,
    line: 'This window was not opened by the running program; open the address it printed.',
  }
}

function cookieValue(header: string, name: string): string | null {
  for (const pair of header.split(';')) {
    const at = pair.indexOf('=')
    if (at > 0 && pair.slice(0, at).trim() === name) return pair.slice(at + 1).trim()
  }
  return null
}
